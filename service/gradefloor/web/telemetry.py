"""`/metrics`: what an operator watches, in the text format of Prometheus."""

from collections.abc import Iterator

from fastapi import FastAPI
from prometheus_client import CollectorRegistry
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4, generate_latest
from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.web.service import Service

OUTCOMES = ("adopted", "unchanged", "refused")


class _Rules(Collector):
    """The rules in force, and how looking at their files went."""

    def __init__(self, service: Service) -> None:
        self.service = service

    def collect(self) -> Iterator[Metric]:
        last = self.service.renewal
        yield GaugeMetricFamily(
            "gradefloor_rules_current",
            "1 if the rule files as last looked at are in force, 0 if they were refused.",
            value=float(last.state == "current"),
        )
        yield GaugeMetricFamily(
            "gradefloor_rules_looked_at_timestamp_seconds",
            "When the rule files were last looked at.",
            value=last.looked_at.timestamp(),
        )
        if last.adopted_at is not None:
            yield GaugeMetricFamily(
                "gradefloor_rules_adopted_timestamp_seconds",
                "When the rules in force were taken up.",
                value=last.adopted_at.timestamp(),
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
        for release in self.service.catalog:
            versions.add_metric([release.name, release.version, release.digest], 1)
        yield versions


def routes(app: FastAPI, service: Service) -> None:
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Rules(service))

    async def get_metrics(_request: Request) -> Response:
        return Response(
            generate_latest(registry),
            headers={"Content-Type": CONTENT_TYPE_PLAIN_0_0_4, "Cache-Control": "no-store"},
        )

    app.add_route("/metrics", get_metrics, methods=["GET"])
