"""`contract` and `schema`: what is generated from the code."""

import sys
from typing import Annotated

import typer

from gradefloor.commands.folder import DEFAULT_FOLDER, RuleSets, read_catalog
from gradefloor.rules.schema import as_bytes, cases_schema, ruleset_schema


def contract(rulesets: RuleSets = DEFAULT_FOLDER) -> None:
    """Print the OpenAPI document, as it is committed in openapi/openapi.json."""
    from gradefloor.web import contract as web_contract  # noqa: PLC0415 - the other commands need no server
    from gradefloor.web.app import create_app  # noqa: PLC0415
    from gradefloor.web.service import Service  # noqa: PLC0415

    app = create_app(Service(read_catalog(rulesets, drafts=False, proofs=False)))
    sys.stdout.buffer.write(web_contract.as_bytes(web_contract.build(app)))


def schema(
    cases: Annotated[bool, typer.Option("--cases", help="The schema of cases.yaml instead.")] = False,
) -> None:
    """Print the JSON Schema of ruleset.yaml, or of cases.yaml, as it is committed in rulesets/."""
    sys.stdout.buffer.write(as_bytes(cases_schema() if cases else ruleset_schema()))
