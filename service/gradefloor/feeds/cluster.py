"""Files annotated by the workers of a `dask.distributed` scheduler, which is read only when asked for."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from gradefloor.feeds.folders import Errand, Run
from gradefloor.feeds.rows import TableError
from gradefloor.feeds.summary import Part

TIMEOUT_S = 15


def by_cluster(address: str) -> Run:
    """The workers of the scheduler at this address; files and folder have to be at the same place for them.

    A file whose worker is lost is given to another one, which goes on where that one stopped.
    """
    try:
        from distributed import Client, as_completed  # noqa: PLC0415
    except ImportError:
        raise TableError("a cluster needs distributed; install gradefloor with the extra 'cluster'") from None

    def run(errand: Errand, files: Sequence[Path]) -> Iterator[Part]:
        try:
            client = Client(address, timeout=TIMEOUT_S, set_as_default=False)  # type: ignore[no-untyped-call]
        except (OSError, ValueError) as error:
            raise TableError(f"{address}: no scheduler answers there: {error}") from None
        with client:
            futures = client.map(errand.run, files, pure=False, batch_size=1000)
            names = {future.key: file.name for future, file in zip(futures, files, strict=True)}
            for future in as_completed(futures, loop=client.loop):  # type: ignore[no-untyped-call]
                fault = future.exception()
                yield future.result() if fault is None else Part(names[future.key], fault=_told(fault))

    return run


def _told(fault: BaseException) -> str:
    first = str(fault).partition("\n")[0]
    return f"the cluster gave it up: {type(fault).__name__}: {first}"
