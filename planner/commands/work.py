"""``treadgate work``: the pit-wall calculator, one worksheet a topic."""

import importlib
from pathlib import Path
from typing import Any

import attrs
import click

from planner.car import car_file as cars
from planner.commands import kinds, output
from planner.trade.refusals import Refusal
from planner.worksheets.inputs import Calculator, Known, as_typed
from planner.worksheets.quantities import QUANTITIES, Quantity, Wish, option

TOPICS = {
    "weights": "percentages, wedge, loads wanted",
    "jack": "turns of the weight jacks",
    "ballast": "what moving ballast does",
    "loads": "tire loads in a turn, tight or loose",
    "pressure": "hot, cold and sun-warmed pressures",
    "stagger": "stagger and turning radius",
}


class _Topics(click.Group):
    """Loads a worksheet when it is asked for: some of them need numpy."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(TOPICS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in TOPICS:
            return None
        module = importlib.import_module(f"planner.worksheets.{cmd_name}")
        return _command(cmd_name, module.CALCULATOR)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(TOPICS.items()))


@click.group("work", cls=_Topics)
def command() -> None:
    """Pit-wall calculator: give numbers, a car file, or both."""


def _command(topic: str, calculator: Calculator) -> click.Command:
    """Return the command of a worksheet, its options those it declares."""

    def work(car_file: Path | None, as_json: bool, **typed: Any) -> None:
        known = Known(typed, None if car_file is None else _car(car_file))
        _show(calculator, known, as_json)

    car = click.Option(
        ["--car", "car_file"],
        type=kinds.File(),
        metavar="FILE",
        help="the car file; what is typed wins over it",
    )
    json = click.Option(
        ["--json", "as_json"], is_flag=True, help="print one JSON object and nothing else"
    )
    numbers = [_number(QUANTITIES[name]) for name in calculator.takes]
    wishes = [_wish(wish) for wish in calculator.wishes]
    return click.Command(
        topic,
        callback=work,
        params=[car, *numbers, *wishes, json],
        help=calculator.about,
        short_help=TOPICS[topic],
    )


def _number(quantity: Quantity) -> click.Option:
    return click.Option(
        [quantity.option, quantity.name],
        multiple=bool(quantity.places),
        metavar=quantity.shape,
        help=quantity.words,
    )


def _wish(wish: Wish) -> click.Option:
    names, words = [option(wish.name), wish.name], wish.words
    if wish.choices:
        return click.Option(names, type=click.Choice(wish.choices), help=words)
    if wish.shape:
        return click.Option(names, multiple=True, metavar=wish.shape, help=words)
    return click.Option(names, is_flag=True, help=words)


def _car(file: Path) -> cars.Car:
    try:
        return cars.load(file)
    except Refusal as refusal:
        hint = "check the file named after --car, or type the numbers instead"
        hint = hint if refusal.code == "not-found" else refusal.hint
        raise Refusal(refusal.code, refusal.message, where=refusal.where, hint=hint) from None


def _show(calculator: Calculator, known: Known, as_json: bool) -> None:
    """Work the sheet out and print it."""
    try:
        sheet = calculator.work(known)
    except Refusal as refusal:
        raise as_typed(refusal) from None
    sheet = attrs.evolve(
        sheet,
        doubts=(*known.doubts(), *sheet.doubts),
        remarks=(*sheet.remarks, *known.remarks),
    )
    if as_json:
        shown = {row.key for row in sheet.inputs}
        sources = {key: source for key, source in known.sources.items() if key in shown}
        output.write_json(sheet.as_dict() | {"sources": sources})
    else:
        from planner.worksheets import as_text

        output.write(as_text.text(sheet, known.sources))
