"""Rules of a name that extends another, and where each was written, so that a fault points to its line."""

from dataclasses import dataclass, field

from gradefloor.rules.format import RULE_KINDS, RuleSet
from gradefloor.rules.strict_yaml import Document, Fault


@dataclass(slots=True)
class Places:
    """Where each rule of a merged rule set was written."""

    own: Document
    of_rule: dict[str, tuple[Document, tuple[str | int, ...]]] = field(default_factory=dict)

    def fault(self, rule: str, found: str, allowed: str, *at: str | int) -> Fault:
        document, path = self.of_rule.get(rule, (self.own, ()))
        return document.fault((*path, *at), found, allowed)


def places(rules: RuleSet, document: Document, base: Places | None = None) -> Places:
    """Places of all rules; found in the document, because a faulty one may be missing among `rules`."""
    result = Places(document, dict(base.of_rule) if base else {})
    for kind in RULE_KINDS:
        ids = {rule.id for rule in getattr(rules, kind)}
        written = document.data.get(kind) if isinstance(document.data, dict) else None
        for index, item in enumerate(written if isinstance(written, list) else ()):
            if isinstance(item, dict) and item.get("id") in ids:
                result.of_rule[str(item["id"])] = (document, (kind, index))
    return result


def merge(base: RuleSet, own: RuleSet, where: Places) -> tuple[RuleSet, list[Fault]]:
    """The rules of a name that extends another: its own in place of those they override."""
    faults: list[Fault] = []
    inherited = {rule.id: kind for kind in RULE_KINDS for rule in getattr(base, kind)}
    merged: dict[str, object] = {}
    for kind in RULE_KINDS:
        rules = {rule.id: rule for rule in getattr(base, kind)}
        for index, rule in enumerate(getattr(own, kind)):
            if any(rule.id == other.id for other in getattr(own, kind)[:index]):
                faults.append(where.fault(rule.id, f"the id {rule.id} again", "an id used once", "id"))
            if inherited.get(rule.id, kind) != kind:
                faults.append(where.fault(rule.id, f"{rule.id} among {kind}", f"{inherited[rule.id]}", "id"))
            rules[rule.id] = rule
        merged[kind] = list(rules.values())
    for kind, key in (("sources", "id"), ("questions", "about"), ("issuers", "name")):
        parts = {getattr(part, key): part for part in (*getattr(base, kind), *getattr(own, kind))}
        merged[kind] = list(parts.values())
    return own.model_copy(update=merged), faults
