"""Pages: a template filled in, and the file it is written to."""

import itertools
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from planner.files import whole_file
from planner.screen import paper
from planner.trade.refusals import Refusal

BEGINS = "<!doctype html>"


def fill(template: str, matter: dict[str, Any]) -> str:
    """Return a page.

    Whatever is put into it appears as text, on one line, without invisible characters; only what
    the program has drawn itself (`Markup`) goes in as it is.
    """
    environment = Environment(
        loader=PackageLoader("planner", "report/templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_finalized,
    )
    environment.filters["grouped"] = _grouped
    return environment.get_template(template).render(matter)


def _grouped(details: Iterable[tuple[str, str]]) -> list[tuple[str, list[str]]]:
    """Put together what is said one after the other about the same thing."""
    return [
        (about, [says for _, says in group])
        for about, group in itertools.groupby(details, key=lambda detail: detail[0])
    ]


def _finalized(value: Any) -> Any:
    if isinstance(value, str) and not isinstance(value, Markup):
        return paper.clean(value)
    return value


def refuse_taken(path: Path, *, force: bool) -> None:
    """Refuse where a page may not be written.

    Raises
    ------
    Refusal
        The folder is not there, or there is a file of that name; a file that is no page of ours
        (a plan, say) is not overwritten even by force.
    """
    if not path.parent.is_dir():
        raise Refusal(
            "no-folder",
            "There is no such folder.",
            where=str(path.parent),
            hint="make the folder, or correct the path",
        )
    if not path.exists():
        return
    if not path.is_file():
        raise Refusal(
            "bad-value",
            "This is not a file but a folder, a pipe or a device; it is not written.",
            where=str(path),
            hint="give another name with --out",
        )
    if not force:
        raise _taken(path)
    if not _is_page(path):
        raise Refusal(
            "exists",
            "This is not a page that Treadgate made; it is not overwritten.",
            where=str(path),
            hint="give another name with --out",
        )


def _taken(path: Path) -> Refusal:
    return Refusal(
        "exists",
        "There is a file of this name already; it is not overwritten.",
        where=str(path),
        hint="give another name with --out, or --force to overwrite it",
    )


def _is_page(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(BEGINS)).lower() in (b"", BEGINS.encode())
    except OSError:
        return False


def write(path: Path, text: str, *, force: bool, like: Path | None = None) -> None:
    """Write a page so that its name leads to the whole page, or to what was there before.

    Parameters
    ----------
    like : the plan; whoever may read that may read a page that is new.

    Raises
    ------
    Refusal
        See `refuse_taken`; or it cannot be written.
    """
    refuse_taken(path, force=force)
    real = path.resolve()
    like = None if real.exists() else like
    try:
        (whole_file.put if force else whole_file.put_new)(real, text.encode(), like)
    except FileExistsError:
        raise _taken(path) from None
    except OSError as error:
        raise whole_file.cannot_write(path, error, "The page cannot be written") from None
