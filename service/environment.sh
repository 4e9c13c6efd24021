# Sourced by service/run and tests/run: makes .venv from pinned files, and again only if the pins change.
# Expects the project's root as working directory and, in $extras, [test] for what the tests need, else nothing.
# `beside NAME` adds the packages of service/pins/NAME.txt in .venv/NAME, for whoever has that on the path.

# A fit of prices is small: more than one thread of linear algebra would only fight for the cores.
export OPENBLAS_NUM_THREADS="${OPENBLAS_NUM_THREADS:-1}"

python=
for candidate in python3 python3.13 python3.12 python3.11; do
  if command -v "$candidate" >/dev/null 2>&1 &&
    "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    python=$candidate
    break
  fi
done
if [ -z "$python" ]; then
  echo "gradefloor needs Python 3.11 or newer, and none was found." >&2
  exit 2
fi

# A file of another hash than the pinned ones is refused, and nothing is built that is not pinned.
case "$extras" in
  '[test]') packages='--requirement service/pins/test.txt' ;;
  *) packages='--requirement service/pins/serve.txt --requirement service/pins/build.txt' ;;
esac

pinned=$(cat pyproject.toml service/pins/*.txt | cksum)
pinned="$pinned $("$python" -c 'import sys; print(sys.version)')"
stamp=.venv/installed
installed=$(cat "$stamp" 2>/dev/null || true)
case "$installed" in
  "$extras $pinned" | "[test] $pinned") ;;
  *)
    # Other pins or another Python need a new environment; more packages only need to be added.
    if [ "${installed#* }" != "$pinned" ]; then
      rm -rf .venv
      "$python" -m venv .venv || {
        echo "Python could not make a virtual environment; on Debian, install python3-venv." >&2
        exit 2
      }
    fi
    install() {
      .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-input --no-deps "$@"
    }
    # shellcheck disable=SC2086 - several words on purpose
    { install --require-hashes $packages && install --no-build-isolation --editable .; } || {
      rm -rf .venv
      echo "The pinned packages could not be installed." >&2
      exit 2
    }
    echo "$extras $pinned" >"$stamp"
    ;;
esac

beside() {
  if [ "$(cat ".venv/$1/installed" 2>/dev/null || true)" != "$(cksum <"service/pins/$1.txt")" ]; then
    rm -rf ".venv/$1"
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-input --no-deps --require-hashes \
      --target ".venv/$1" --requirement "service/pins/$1.txt"
    cksum <"service/pins/$1.txt" >".venv/$1/installed"
  fi
}
