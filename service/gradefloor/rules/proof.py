"""The cases that prove one version: kept as they were written, and read when somebody asks for them.

Whoever answers requests never does, and read they would take more than ten times the memory.
"""

from functools import cached_property

from gradefloor.rules.expectations import Cases
from gradefloor.rules.parse import parse
from gradefloor.rules.strict_yaml import Document, Fault, read


class Proof:
    """`cases.yaml` of one version. LookupError for its cases if it has faults."""

    def __init__(self, content: bytes, file: str) -> None:
        self._content = content
        self._file = file

    @cached_property
    def _read(self) -> tuple[Cases | None, Document, list[Fault]]:
        document = read(self._content, self._file)
        cases, faults = parse(Cases, document)
        document.forget()
        return cases, document, faults

    @property
    def faults(self) -> list[Fault]:
        """What is wrong with how the cases are written; whether they hold is another question."""
        return self._read[2]

    @property
    def cases(self) -> Cases:
        cases = self._read[0]
        if cases is None:
            raise LookupError(f"{self._file} has faults")
        return cases

    @property
    def document(self) -> Document:
        """Where each case stands in its file."""
        return self._read[1]
