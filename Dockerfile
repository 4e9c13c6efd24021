# Two stages: the first has what building needs, the last only what serving needs.
FROM python:3.13-slim AS build
WORKDIR /build
COPY pyproject.toml README.md ./
COPY service ./service
RUN python -m venv /opt/gradefloor \
 && PIP_CONSTRAINT=service/constraints.txt /opt/gradefloor/bin/pip install \
      --no-cache-dir --disable-pip-version-check --only-binary=:all: --no-binary=gradefloor . \
 && /opt/gradefloor/bin/pip uninstall --yes pip

FROM python:3.13-slim
RUN python -m pip uninstall --yes --quiet --root-user-action=ignore pip \
 && useradd --system --no-create-home --uid 10001 gradefloor
COPY --from=build /opt/gradefloor /opt/gradefloor
WORKDIR /srv/gradefloor
COPY rulesets ./rulesets
ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 OPENBLAS_NUM_THREADS=1
USER gradefloor
EXPOSE 8000
HEALTHCHECK --interval=10s --timeout=3s --start-period=20s CMD ["/opt/gradefloor/bin/python", "-c", \
  "import urllib.request; urllib.request.urlopen('http://127.0.0.1:8000/health/ready', timeout=2)"]
# The same entry as service/run: check every rule set, then serve; exec, so that a signal reaches the server.
ENTRYPOINT ["/bin/sh", "-c", \
  "/opt/gradefloor/bin/gradefloor check && exec /opt/gradefloor/bin/gradefloor serve --host 0.0.0.0 \"$@\"", \
  "gradefloor"]
