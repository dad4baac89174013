"""``treadgate rules``: lists, shows and checks rules files."""

from pathlib import Path

import click

from planner.commands import kinds, output
from planner.commands.options import json_option
from planner.rulebook import rules_file


@click.group("rules")
def command() -> None:
    """List, show and check rules files."""


@command.command("list")
@json_option
def list_rules(as_json: bool) -> None:
    """List the rules that come with the program."""
    books = [rules_file.load(rules_file.find(name)) for name in rules_file.BUNDLED]
    if as_json:
        keys = ("id", "title", "turns", "laps")
        output.write_json({"rules": [{key: getattr(book, key) for key in keys} for book in books]})
        return
    for book in books:
        turns = " or ".join(book.turns)
        output.write(f"{book.id:14} {book.title}: turns {turns}, {book.laps} laps a run")


@command.command("show")
@click.argument("wanted", metavar="ID")
@json_option
def show_rules(wanted: str, as_json: bool) -> None:
    """Show a rules file: its bands, its offers and where they come from."""
    path = rules_file.find(wanted, where="ID")
    data = rules_file.read(path)
    if as_json:
        rules_file.load(path)  # a file with mistakes may hold what JSON cannot
        output.write_json(data)
    else:
        output.write(path.read_text("utf-8-sig").rstrip())


@command.command("check")
@click.argument("file", type=kinds.File())
@json_option
def check_rules(file: Path, as_json: bool) -> None:
    """Check a rules file and name each mistake by its key."""
    book = rules_file.load(file)
    if as_json:
        output.write_json(
            {"id": book.id, "fingerprint": book.fingerprint, "patterns": len(book.pattern)}
        )
    else:
        output.write(
            f"{file}: good; {len(book.pattern)} patterns, {len(book.adjustment)} adjustments."
        )
