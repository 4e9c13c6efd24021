"""Many files annotated into one folder: a part for each, under its name, and all by one judgement."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.asking import Wanted
from gradefloor.feeds.judging import Judgement
from gradefloor.feeds.made import is_note, made_of
from gradefloor.feeds.processes import ENDED, pool
from gradefloor.feeds.rows import TableError
from gradefloor.feeds.summary import Part
from gradefloor.feeds.tables import KINDS, open_table


@dataclass(frozen=True, slots=True)
class Errand:
    """One judgement of many files, as a value to send; the columns of each are found out where it is read."""

    judgement: Judgement
    wanted: Wanted
    folder: Path

    def run(self, source: Path) -> Part:
        """Annotate one file into the folder; one that cannot be used is told, and spoils no other."""
        try:
            table = open_table(source)
            judgement = replace(self.judgement, asking=self.wanted.asking(table.headers))
            made = {
                **self.said(),
                "columns": dict(judgement.asking.columns),
                "source": {"name": source.name, **asdict(table.stamp)},
            }
            target = self.folder / source.name
            found = made_of(target)
            if found is not None and found.items() >= made.items():
                return Part(source.name, done_before=True, **found["counts"])
            summary = annotate(
                table,
                judgement.judge(),
                target,
                fingerprint=judgement.fingerprint(),
                progress=False,
                made=made,
            )
        except (TableError, ValueError) as error:
            return Part(source.name, fault=str(error).removeprefix(f"{source.name}: "))
        except MemoryError:
            raise  # says something about the machine, not about this file
        except Exception as error:  # noqa: BLE001 - whatever it is, the other files arrive
            return Part(source.name, fault=f"{type(error).__name__}: {error}")
        return Part(source.name, **summary.counts())

    def said(self) -> dict[str, Any]:
        """What all parts of the folder have in common."""
        common = self.judgement.said()
        del common["columns"]
        return {**common, **self.wanted.said()}


# Runs an errand over files and gives each part as soon as it is done.
Run = Callable[[Errand, Sequence[Path]], Iterator[Part]]


def annotate_all(errand: Errand, sources: Sequence[Path], run: Run) -> list[Part]:
    """A part of the folder for each file, in the order of the files.

    TableError, before any row is judged, if two files have one name or the folder has parts that were judged
    otherwise. What an earlier run finished is not done again.
    """
    files = files_of(sources)
    folder = errand.folder
    if folder.exists() and not folder.is_dir():
        raise TableError(f"{folder.name}: is no folder")
    if not folder.parent.is_dir():
        raise TableError(f"{folder.name}: there is no folder {folder.parent}")
    for file in files:
        if file.parent == folder.resolve():
            raise TableError(
                f"{folder.name}: {file.name} itself is in this folder; name another one with --to"
            )
    folder.mkdir(exist_ok=True)
    _refuse_others(errand)
    done = {part.name: part for part in run(errand, files)}
    return [done[file.name] for file in files]


def files_of(sources: Sequence[Path]) -> list[Path]:
    """The files meant, with the place where they are on this machine: those named, and those in a folder."""
    found: list[Path] = []
    for source in sources:
        if not source.is_dir():
            found.append(source.resolve())
            continue
        inside = [path.resolve() for path in sorted(source.iterdir()) if path.is_file() and _is_table(path)]
        if not inside:
            raise TableError(f"{source.name}: the folder has no file that ends with {', '.join(KINDS)}")
        found += inside
    found = list(dict.fromkeys(found))
    places: dict[str, Path] = {}
    for path in found:
        if path.name in places:
            both = f"{places[path.name].parent} and {path.parent}"
            raise TableError(f"{path.name}: is in {both}; one folder takes one part of a name")
        places[path.name] = path
    return found


def one_after_another(errand: Errand, files: Sequence[Path]) -> Iterator[Part]:
    return map(errand.run, files)


def by_processes(processes: int) -> Run:
    """So many files at once on this machine."""

    def run(errand: Errand, files: Sequence[Path]) -> Iterator[Part]:
        with pool(min(processes, len(files))) as executor:
            futures: dict[Future[Part], Path] = {executor.submit(errand.run, file): file for file in files}
            try:
                for future in as_completed(futures):
                    try:
                        yield future.result()
                    except BrokenProcessPool:
                        yield Part(futures[future].name, fault=ENDED)
            finally:
                executor.shutdown(cancel_futures=True)

    return run


def _is_table(path: Path) -> bool:
    return path.suffix.lower() in KINDS and not is_note(path)


def _refuse_others(errand: Errand) -> None:
    """Parts that were judged otherwise must not come to stand beside these."""
    said = errand.said()
    for path in sorted(errand.folder.iterdir()):
        made = made_of(path) if path.is_file() and _is_table(path) else None
        other = {name for name, value in said.items() if made is not None and made.get(name) != value}
        if made is not None and other:
            found, asked = (
                ", ".join(f"{name} {_brief(each.get(name))}" for name in said if name in other)
                for each in (made, said)
            )
            raise TableError(
                f"{errand.folder.name} holds {path.name} with {found}, and asked is {asked}: "
                "say the same as then to go on, or name another folder with --to"
            )


def _brief(value: Any) -> str:
    return "none" if value is None else str(value)
