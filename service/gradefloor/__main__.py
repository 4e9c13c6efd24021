"""The command line: check the rule sets, keep them, serve them, judge files, print what is generated."""

import typer

from gradefloor.commands.checking import check
from gradefloor.commands.comparing import changes
from gradefloor.commands.explaining import explain
from gradefloor.commands.files import annotate
from gradefloor.commands.keeping import draft, release
from gradefloor.commands.printing import contract, schema
from gradefloor.commands.serving import serve

main = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="A jeweller's judgement of stones, answered over JSON.",
)
for command in (check, explain, changes, draft, release, serve, annotate, contract, schema):
    main.command()(command)

if __name__ == "__main__":
    main()
