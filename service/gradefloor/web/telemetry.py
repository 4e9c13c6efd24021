"""`/metrics`: what an operator watches, in the text format of Prometheus.

Requests and verdicts are counted over all workers; rules, load and dropped lines are this worker's.
"""

import os
from collections.abc import Iterator
from functools import cache
from typing import Final

from fastapi import FastAPI
from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4, generate_latest
from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.web.journal import Record
from gradefloor.web.service import Service

OUTCOMES: Final = ("adopted", "unchanged", "refused")
# Set by whoever starts several workers; prometheus_client reads it when it is imported.
SHARED_COUNTS: Final = "PROMETHEUS_MULTIPROC_DIR"
# Half a millisecond for a page view, a minute for a long list.
_BUCKETS: Final = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 60)


class Telemetry:
    """Counts of what was asked and answered."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry(auto_describe=False)
        self._requests = Counter(
            "gradefloor_requests",
            "Requests answered.",
            ["route", "method", "status"],
            registry=self.registry,
        )
        self._seconds = Histogram(
            "gradefloor_request_seconds",
            "Time from the head of a request to the end of its answer.",
            ["route"],
            buckets=_BUCKETS,
            registry=self.registry,
        )
        self._verdicts = Counter(
            "gradefloor_verdicts", "Stones judged, by verdict.", ["verdict"], registry=self.registry
        )
        # Counters by their labels, because the library looks them up under a lock each time. As many as
        # there are routes, methods and statuses: none of these is a client's word.
        self._of_request = cache(self._of_request_anew)
        self._of_verdict = cache(self._verdicts.labels)

    def count(self, record: Record) -> None:
        """One request more."""
        requests, seconds = self._of_request(record.route, record.method, record.status)
        requests.inc()
        seconds.observe(record.seconds)
        for verdict, number in record.verdicts.items():
            self._of_verdict(verdict).inc(number)

    def _of_request_anew(self, route: str, method: str, status: int) -> tuple[Counter, Histogram]:
        return self._requests.labels(route, method, str(status)), self._seconds.labels(route)

    def collectors(self) -> list[CollectorRegistry]:
        """What to write out: this process's counts, or those of all workers together."""
        if SHARED_COUNTS not in os.environ:
            return [self.registry]
        shared = CollectorRegistry(auto_describe=False)
        MultiProcessCollector(shared)  # type: ignore[no-untyped-call] # the library has no types there
        return [shared]


class _Here(Collector):
    """What is true of this worker: the rules in force, how looking at their files went, how busy it is."""

    def __init__(self, service: Service) -> None:
        self.service = service

    def collect(self) -> Iterator[Metric]:
        service, last = self.service, self.service.renewal
        yield _gauge(
            "gradefloor_rules_current",
            "1 if the rule files as last looked at are in force, 0 if they were refused.",
            float(last.state == "current"),
        )
        yield _gauge(
            "gradefloor_rules_looked_at_timestamp_seconds",
            "When the rule files were last looked at.",
            last.looked_at.timestamp(),
        )
        if last.adopted_at is not None:
            yield _gauge(
                "gradefloor_rules_adopted_timestamp_seconds",
                "When the rules in force were taken up.",
                last.adopted_at.timestamp(),
            )
        looks = CounterMetricFamily(
            "gradefloor_rules_looks",
            "Looks at the rule files since the start, by outcome.",
            labels=["outcome"],
        )
        for outcome in OUTCOMES:
            looks.add_metric([outcome], last.counts.get(outcome, 0))
        yield looks
        versions = GaugeMetricFamily(
            "gradefloor_ruleset_info",
            "1 for every version that can be asked for.",
            labels=["name", "version", "digest"],
        )
        for release in service.catalog:
            versions.add_metric([release.name, release.version, release.digest], 1)
        yield versions
        yield _gauge("gradefloor_waiting", "Requests that wait for their answer.", service.load.waiting)
        yield _gauge("gradefloor_lists", "Lists and streams under way.", service.load.lists)
        dropped = CounterMetricFamily(
            "gradefloor_lines_dropped", "Lines that could not be written, by where.", labels=["log"]
        )
        for log, journal in (("requests", service.journal), ("decisions", service.decisions)):
            if journal is not None:
                dropped.add_metric([log], journal.dropped)
        yield dropped


def _gauge(name: str, what: str, value: float) -> Metric:
    return GaugeMetricFamily(name, what, value=value)


def routes(app: FastAPI, service: Service, telemetry: Telemetry) -> None:
    here = CollectorRegistry(auto_describe=False)
    here.register(_Here(service))

    async def get_metrics(_request: Request) -> Response:
        content = b"".join(generate_latest(registry) for registry in (*telemetry.collectors(), here))
        return Response(
            content, headers={"Content-Type": CONTENT_TYPE_PLAIN_0_0_4, "Cache-Control": "no-store"}
        )

    app.add_route("/metrics", get_metrics, methods=["GET"])
