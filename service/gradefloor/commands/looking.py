"""The folder of the rule sets as a server reads it: at its start, and again while it answers."""

from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from gradefloor.commands.folder import complain, faults_of, read_catalog
from gradefloor.rules.catalog import Catalog, CatalogError, Release, load
from gradefloor.rules.strict_yaml import Fault


class RuleFolder:
    """Rule files in one place, read in one way."""

    def __init__(self, root: Path, *, drafts: bool, trusted: Ed25519PublicKey | None) -> None:
        self.root = root
        self.drafts = drafts
        self.trusted = trusted
        # What was refused last, by its bytes, so that nobody compiles the same faults at every look.
        self._refused: tuple[tuple[str, ...], list[Fault]] = (), []

    def read(self) -> Catalog:
        """All that can be asked for, its drafts proved; or the end of the command.

        What is released was proved before, and `check` proves it anew.
        """
        catalog = read_catalog(self.root, drafts=self.drafts, proofs=False, trusted=self.trusted)
        if faults := [fault for release in catalog if release.draft for fault in faults_of(release)]:
            complain(faults)
        return catalog

    def look(self, before: Catalog) -> Catalog:
        """What is there now, `before` itself if nothing has changed; CatalogError if any of it has faults.

        What is new is proved before anybody is answered by it.
        """
        found = load(self.root, drafts=self.drafts, trusted=self.trusted, before=before)
        if list(found) == list(before):
            return before
        if faults := self._prove(found, before):
            raise CatalogError(faults)
        return found

    def _prove(self, found: Catalog, before: Catalog) -> list[Fault]:
        released = {release.digest for release in before if not release.draft}
        new: list[Release] = [one for one in found if one.draft or one.digest not in released]
        seals = tuple(release.seal for release in new)
        if seals != self._refused[0]:
            self._refused = seals, [fault for release in new for fault in faults_of(release)]
        return self._refused[1]
