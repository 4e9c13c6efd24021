# Two stages: the first has what building needs, a C compiler too; the last only what serving needs.
FROM python:3.13 AS build
# More sets of packages from service/pins: --build-arg WITH="parquet tracing".
ARG WITH=""
ENV PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_INPUT=1
WORKDIR /build
COPY service/compile ./service/compile
COPY service/pins ./service/pins
RUN python -m venv /opt/gradefloor \
 && for set in serve $WITH; do \
      /opt/gradefloor/bin/pip install --no-deps --require-hashes -r service/pins/$set.txt || exit 1; \
    done \
 && python -m venv /opt/build \
 && for set in serve build compile; do \
      /opt/build/bin/pip install --no-deps --require-hashes -r service/pins/$set.txt || exit 1; \
    done
COPY pyproject.toml README.md ./
COPY service/gradefloor ./service/gradefloor
COPY rulesets ./rulesets
# The compiled copy goes over the installed one: the same files, and beside them what was compiled.
RUN /opt/build/bin/hatchling build --target wheel \
 && /opt/gradefloor/bin/pip install --no-deps --no-index dist/*.whl \
 && PYTHON=/opt/build/bin/python sh service/compile /opt/compiled \
 && cp -R /opt/compiled/. "$(/opt/gradefloor/bin/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')" \
 && /opt/gradefloor/bin/pip uninstall --yes pip

FROM python:3.13-slim
RUN python -m pip uninstall --yes --quiet --root-user-action=ignore pip \
 && useradd --system --no-create-home --uid 10001 gradefloor
COPY --from=build /opt/gradefloor /opt/gradefloor
WORKDIR /srv/gradefloor
COPY rulesets ./rulesets
ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 OPENBLAS_NUM_THREADS=1
# By number, so that a cluster can see that it is not root.
USER 10001
EXPOSE 8000
HEALTHCHECK --interval=10s --timeout=3s --start-period=60s CMD ["/opt/gradefloor/bin/python", "-c", \
  "import urllib.request; urllib.request.urlopen('http://127.0.0.1:8000/health/ready', timeout=2)"]
# The same entry as service/run: check every rule set, then serve; exec, so that a signal reaches the server.
ENTRYPOINT ["/bin/sh", "-c", \
  "/opt/gradefloor/bin/gradefloor check && exec /opt/gradefloor/bin/gradefloor serve --host 0.0.0.0 \"$@\"", \
  "gradefloor"]
