"""The command line: check the rule sets, keep them, serve them, judge files, print what is generated."""

import typer

from gradefloor.commands.checking import check
from gradefloor.commands.comparing import changes
from gradefloor.commands.explaining import explain
from gradefloor.commands.files import annotate
from gradefloor.commands.keeping import draft, release, sign
from gradefloor.commands.printing import contract, schema
from gradefloor.commands.serving import key, serve
from gradefloor.commands.settings import settings

main = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="A jeweller's judgement of stones, answered over JSON.",
)
_KEEPING = (check, explain, changes, draft, release, sign)
for command in (*_KEEPING, serve, key, settings, annotate, contract, schema):
    main.command()(command)

if __name__ == "__main__":
    main()
