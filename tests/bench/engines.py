"""The same floors and windows in general-purpose rules engines.

`engine_rules` says which rules are in, which are out, and what is done for the engines before the clock
starts. All engines first have to give the verdicts that ours gives, on all stones.

What is timed is not the same work. Engines answer with codes for the rules in scope. Ours reads the stone
itself and answers with whole findings as bytes: reasons, remedies, questions, measures and the digest. It is
timed twice, with the whole rule set and with one that is reduced to the same floors and windows. What codes
alone cost without any engine is shown by the same trees as generated Python.

Each engine has one or two forms:

- by key: the host looks up one compiled program by shape, origin and tone of the head, and puts the names of
  the rules to the verdicts. The engine sees only the rules of this stone. The fastest form of each.
- one program: the rules of all shapes are one program with the tables as literals, and the engine finds
  those of the stone.

Tried and left out: for zen-engine a decision object (130 µs where `evaluate` took 12), a batch call (23
against 17), a loader callback and an output for each rule (slower), JSON bytes (no faster); for CEL a
prepared context, joined text and one program a rule (within 8 %); for JsonLogic in Python python-jsonlogic
(74 where panzi-json-logic took 65) and json-logic-qubit (157 where it took 98); for rule-engine typed
contexts and one program a rule (slower); for Rego one interpreter for all keys (six times slower), complete
rules in place of `else` and the input as a term (slower).
"""

import gc
import json
import statistics
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Final, NamedTuple

from engine_rules import (
    SILENT,
    Choice,
    Facts,
    Key,
    Sample,
    Tree,
    Trees,
    Value,
    Values,
    facts_read,
    one_tree,
    reduced,
    samples,
    trees_by_key,
    verdicts,
)
from figures import Figure, at_least, in_turns, ratios
from gradefloor.judge.stones import Judged, evaluate, say_all
from gradefloor.rules.catalog import load
from gradefloor.rules.facts import Case
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context

RULESETS: Final = Path(__file__).parents[2] / "rulesets"
# So many that a limit moved by one, or an end that no longer belongs to its window, is found.
CHECKED: Final = 5000
TIMED: Final = 1000
SEED: Final = 20

Rules = Mapping[Key, Trees]
Judge = Callable[[Facts], dict[str, str]]
# Makes a program of a tree that ends in several answers.
Compiler = Callable[[Tree], Callable[[Values], Sequence[str]]]


# Engines: each makes a program of a tree


def plain_python(tree: Tree) -> Callable[[Values], Sequence[str]]:
    """No engine: the same rules as generated source, to show what codes alone cost."""
    names = ", ".join(sorted(facts_read(tree)))
    program = eval(f"lambda {names}, **_: {_as_python(tree)}")  # noqa: S307 - made of our own tables
    return lambda values: program(**values)


def zen_decision(tree: Tree) -> Callable[[Values], Sequence[str]]:
    """A decision of the whole engine: in, one expression, out; compiled when it is loaded."""
    nodes = [
        {"id": "in", "type": "inputNode", "name": "in"},
        {
            "id": "rules",
            "type": "expressionNode",
            "name": "rules",
            "content": {"expressions": [{"id": "all", "key": "verdicts", "value": _as_ternary(tree)}]},
        },
        {"id": "out", "type": "outputNode", "name": "out"},
    ]
    edges = [
        {"id": f"{source}-{target}", "sourceId": source, "targetId": target, "type": "edge"}
        for source, target in (("in", "rules"), ("rules", "out"))
    ]
    decision = {"contentType": "application/vnd.gorules.decision", "nodes": nodes, "edges": edges}
    engine = import_module("zen").ZenEngine({"loader": {"type": "static", "content": {"rules": decision}}})
    return lambda values: engine.evaluate("rules", values)["result"]["verdicts"]


def zen_expression(tree: Tree) -> Callable[[Values], Sequence[str]]:
    """Its expression language alone, without the engine around it."""
    evaluated: Callable[[Values], Sequence[str]] = (
        import_module("zen").compile_expression(_as_ternary(tree)).evaluate
    )
    return evaluated


def cel(tree: Tree) -> Callable[[Values], Sequence[str]]:
    executed: Callable[[Values], Sequence[str]] = import_module("cel").compile(_as_ternary(tree)).execute
    return executed


def rule_engine(tree: Tree) -> Callable[[Values], Sequence[str]]:
    evaluated: Callable[[Values], Sequence[str]] = (
        import_module("rule_engine").Rule(_as_ternary(tree)).evaluate
    )
    return evaluated


def json_logic_native(tree: Tree) -> Callable[[Values], Sequence[str]]:
    engine = import_module("datalogic_py").Engine()
    evaluated: Callable[[Values], Sequence[str]] = engine.compile(_as_json_logic(tree)).evaluate
    return evaluated


def json_logic(tree: Tree) -> Callable[[Values], Sequence[str]]:
    apply, logic = import_module("json_logic.apply").apply, _as_json_logic(tree)
    return lambda values: apply(logic, values)


def rego(tree: Tree) -> Callable[[Values], Sequence[str]]:
    """A bundle with one entry point."""
    module = import_module("regopy")
    interpreter, read = module.Interpreter(), module.Input
    interpreter.add_module("rules.rego", _as_rego(tree))
    bundle = interpreter.build(None, ["rules/verdicts"])

    def execute(values: Values) -> Sequence[str]:
        interpreter.set_input(read(values))
        output = interpreter.query_bundle_entrypoint(bundle, "rules/verdicts")
        return output.results[0].expressions[0]  # type: ignore[no-any-return]

    return execute


# Trees in the engines' languages


def _as_ternary(tree: Tree) -> str:
    """The same in the languages of zen-engine, CEL and rule-engine."""
    if isinstance(tree, str):
        return json.dumps(tree)
    if isinstance(tree, tuple):
        return f"[{', '.join(map(_as_ternary, tree))}]"
    fact, sign, value = tree.test
    test = f"{fact} {sign} {json.dumps(value)}"
    return f"({test} ? {_as_ternary(tree.then)} : {_as_ternary(tree.otherwise)})"


def _as_python(tree: Tree) -> str:
    if isinstance(tree, str):
        return repr(tree)
    if isinstance(tree, tuple):
        return f"[{', '.join(map(_as_python, tree))}]"
    fact, sign, value = tree.test
    test = f"{fact} {'is' if value is None or isinstance(value, bool) else sign} {value!r}"
    return f"({_as_python(tree.then)} if {test} else {_as_python(tree.otherwise)})"


def _as_json_logic(tree: Tree) -> Any:
    """Equality is the strict one, because 0 loosely equals null."""
    if isinstance(tree, str):
        return tree
    if isinstance(tree, tuple):
        return [_as_json_logic(part) for part in tree]
    fact, sign, value = tree.test
    test = {"===" if sign == "==" else sign: [{"var": fact}, value]}
    return {"if": [test, _as_json_logic(tree.then), _as_json_logic(tree.otherwise)]}


def _as_rego(tree: Tree) -> str:
    """One rule a tree, with its branches in order, each the `else` of those before it."""
    parts = tree if isinstance(tree, tuple) else (tree,)
    rules = []
    for number, part in enumerate(parts):
        branches = [
            f'"{verdict}"' + (f" if {{ {'; '.join(tests)} }}" if tests else "")
            for tests, verdict in _branches(part)
        ]
        rules.append(f"verdict_{number} := " + " else := ".join(branches))
    names = ", ".join(f"verdict_{number}" for number in range(len(parts)))
    return "\n".join(["package rules", "import rego.v1", *rules, f"verdicts := [{names}]", ""])


def _branches(tree: Tree, tests: tuple[str, ...] = ()) -> Iterable[tuple[tuple[str, ...], str]]:
    """Ways to a verdict; a test that has failed is not asked again, because branches are tried in order."""
    if isinstance(tree, str):
        yield tests, tree
    elif isinstance(tree, Choice):
        fact, sign, value = tree.test
        yield from _branches(tree.then, (*tests, f"input.{fact} {sign} {json.dumps(value)}"))
        yield from _branches(tree.otherwise, tests)


# Forms


def by_key(compiler: Compiler, rules: Rules) -> Judge:
    """The host picks the program and knows the rules' names."""
    programs = {key: (tuple(trees), compiler(tuple(trees.values()))) for key, trees in rules.items()}

    def judge(facts: Facts) -> dict[str, str]:
        names, program = programs[facts.key]
        codes = program(facts.values)
        return {name: code for name, code in zip(names, codes, strict=True) if code != SILENT}

    return judge


def one_program(compiler: Compiler, rules: Rules) -> Judge:
    """The engine finds the rules and names them."""
    program = compiler(one_tree(rules))
    # Names that only some shapes read have to be known everywhere.
    unread = dict.fromkeys(facts_read(one_tree(rules)))

    def judge(facts: Facts) -> dict[str, str]:
        told: dict[str, Value] = {**unread, **facts.keyed}
        answers = iter(program(told))
        return {name: code for name, code in zip(answers, answers, strict=True) if code != SILENT}

    return judge


class Engine(NamedTuple):
    name: str
    distribution: str | None
    compiler: Compiler
    forms: tuple[Callable[[Compiler, Rules], Judge], ...] = (by_key, one_program)


ENGINES: Final = (
    Engine("zen-engine", "zen-engine", zen_decision),
    Engine("zen-engine, expressions alone", "zen-engine", zen_expression),
    Engine("CEL (Rust)", "common-expression-language", cel),
    Engine("JsonLogic (Rust)", "datalogic-py", json_logic_native),
    Engine("JsonLogic (Python)", "panzi-json-logic", json_logic),
    Engine("rule-engine", "rule-engine", rule_engine),
    Engine("Rego", "regopy", rego, (by_key,)),
    Engine("generated Python, codes alone", None, plain_python, (by_key,)),
)


# Agreement and time

# By the best form of each.
GOALS: Final = {
    "zen-engine, by key": at_least(4),
    "CEL (Rust), by key": at_least(10),
    "JsonLogic (Python), by key": at_least(25),
    "rule-engine, by key": at_least(50),
    "Rego, by key": at_least(50),
}


class _Entry(NamedTuple):
    name: str
    form: str
    version: str
    call: Callable[[Sample], object]


def newest() -> CompiledRules:
    """The newest released version of `house`."""
    return max(load(RULESETS).releases["house"], key=lambda release: release.key).compiled


def figures(rounds: int) -> list[Figure]:
    """Their time over ours, engine by engine; exits if one does not agree or is not installed.

    The figure is against everything that ours does from the stone. Beside it stands what the same floors and
    windows cost alone, from the stone and with all facts read before, as the engines get them.
    """
    rules = newest()
    stones = samples(rules, RULESETS, CHECKED, SEED)
    entries = [*_ours(rules, stones), *_theirs(rules, stones)]
    gc.collect()
    gc.freeze()  # as `gradefloor serve` does
    calls = {
        f"{entry.name}, {entry.form}": lambda entry=entry: _microseconds(entry.call, stones[:TIMED])
        for entry in entries
    }
    taken = in_turns(calls, rounds)
    gc.unfreeze()
    whole, reduced_, ready = list(taken.values())[:3]
    found = []
    for (name, times), entry in zip(taken.items(), entries, strict=True):
        against = [statistics.median(ratios(times, ours)) for ours in (reduced_, ready)]
        note = (
            f"{against[0]:.2f} against the same rules, {against[1]:.2f} with facts ready; "
            f"{statistics.median(times):.1f} us, {entry.version}"
        )
        found.append(Figure(name, ratios(times, whole), GOALS.get(name), note=note))
    return found


def _ours(rules: CompiledRules, stones: Sequence[Sample]) -> list[_Entry]:
    same = reduced(rules)
    cases = {id(one): Case(one.stone, one.context or Context(), one.as_of, same.issuers) for one in stones}

    def whole(one: Sample) -> bytes:
        return Judged(rules, one.stone, one.context, one.as_of).written

    def less(one: Sample) -> bytes:
        return Judged(same, one.stone, one.context, one.as_of).written

    def ready(one: Sample) -> bytes:
        return b",".join([said.written for said in say_all(same.shapes[one.stone.shape], cases[id(one)])])

    name = f"{rules.name}@{rules.version}"
    return [
        _Entry("ours", "all rules, findings", name, whole),
        _Entry("ours", "same rules, findings", name, less),
        _Entry("ours", "same rules, facts ready, findings", name, ready),
    ]


def _theirs(rules: CompiledRules, stones: Sequence[Sample]) -> Iterable[_Entry]:
    trees = trees_by_key(rules)
    same = reduced(rules)
    expected = []
    for one in stones:
        answers = [evaluate(some, one.stone, one.context, one.as_of) for some in (rules, same)]
        whole, less = (verdicts(answer, trees[one.facts.key]) for answer in answers)
        if whole != less or len(answers[1]["findings"]) != len(less):
            raise SystemExit(f"the reduced rules say something else of {one.stone}: {whole}, {less}")
        expected.append(whole)
    for engine in ENGINES:
        number = _version(engine.distribution)
        for form in engine.forms:
            judge = form(engine.compiler, trees)
            name = form.__name__.replace("_", " ")
            _agree(f"{engine.name}, {name}", judge, stones, expected)
            yield _Entry(engine.name, name, number, lambda one, judge=judge: judge(one.facts))  # type: ignore[misc]


def _version(distribution: str | None) -> str:
    if distribution is None:
        return ""
    try:
        return f"{distribution} {version(distribution)}"
    except PackageNotFoundError:
        raise SystemExit(f"{distribution} is not installed; the dependency group `bench` has it") from None


def _agree(name: str, judge: Judge, stones: Iterable[Sample], expected: Iterable[dict[str, str]]) -> None:
    for one, verdict_by_rule in zip(stones, expected, strict=True):
        found = judge(one.facts)
        if found != verdict_by_rule:
            raise SystemExit(
                f"{name} does not agree on {one.facts}:\n  ours {verdict_by_rule}\n  theirs {found}"
            )


def _microseconds(call: Callable[[Sample], object], stones: Sequence[Sample]) -> float:
    """Of one stone. Each comes once a round, so that what ours remembers is what other stones have left."""
    start = time.perf_counter()
    for one in stones:
        call(one)
    return (time.perf_counter() - start) / len(stones) * 1e6
