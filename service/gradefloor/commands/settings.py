"""`settings`: every setting of the server, where its value comes from, and what it is now."""

import os

import typer


def settings(context: typer.Context) -> None:
    """Print every setting of `serve`: its option, its variable, its value here, and what it is for."""
    assert context.parent is not None  # noqa: S101 - a command always has the program above it
    serve = context.parent.command.commands["serve"]  # type: ignore[attr-defined] # a group of commands
    for option in serve.params:
        if not option.envvar:
            continue
        given = os.environ.get(str(option.envvar))
        value = "unset" if given is None and option.default is None else given or option.default
        origin = "default" if given is None else "from the environment"
        typer.echo(f"{option.opts[0]}  {option.envvar}  = {value} ({origin})")
        typer.echo(f"    {option.help}")
