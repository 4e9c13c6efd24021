"""Spans of requests for OpenTelemetry, for who has a collector. An extra; nothing else imports this file.

One span a request, a child of the caller's `traceparent` (W3C Trace Context) if one was sent. It holds what
the request log holds, and as little of the request itself.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from opentelemetry.propagate import extract
from opentelemetry.sdk.resources import Resource
from opentelemetry.sdk.trace import SpanProcessor, TracerProvider
from opentelemetry.sdk.trace.export import BatchSpanProcessor
from opentelemetry.trace import SpanKind, Status, StatusCode
from starlette.types import Scope

from gradefloor import __version__
from gradefloor.web.journal import Record

FAILED = 500


class Tracer:
    """Makes spans and hands them on; a full queue drops them, and holds up nobody."""

    def __init__(self, processor: SpanProcessor) -> None:
        resource = Resource.create({"service.name": "gradefloor", "service.version": __version__})
        self._provider = TracerProvider(resource=resource)
        self._provider.add_span_processor(processor)
        self._tracer = self._provider.get_tracer("gradefloor", __version__)

    @classmethod
    def by_environment(cls) -> "Tracer":
        """To the collector that OTEL_EXPORTER_OTLP_ENDPOINT and its like name."""
        from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter  # noqa: PLC0415

        return cls(BatchSpanProcessor(OTLPSpanExporter()))

    @contextmanager
    def span(self, scope: Scope, asked: Record) -> Iterator[None]:
        """While one request is answered."""
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        sent = {name: headers[name] for name in ("traceparent", "tracestate") if name in headers}
        with self._tracer.start_as_current_span(
            asked.method, extract(sent), SpanKind.SERVER, record_exception=False
        ) as span:
            try:
                yield
            finally:
                span.update_name(f"{asked.method} {asked.route}")
                span.set_attribute("http.request.method", asked.method)
                span.set_attribute("http.route", asked.route)
                span.set_attribute("http.response.status_code", asked.status)
                span.set_attribute("gradefloor.request_id", asked.request_id)
                if asked.ruleset is not None:
                    span.set_attribute("gradefloor.ruleset", asked.ruleset)
                for verdict, number in asked.verdicts.items():
                    span.set_attribute(f"gradefloor.verdicts.{verdict}", number)
                if asked.status >= FAILED:
                    span.set_status(Status(StatusCode.ERROR))

    def close(self) -> None:
        """Send what is left."""
        self._provider.shutdown()
