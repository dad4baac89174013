"""The pages of ``treadgate help``: a text file each in the folder `help`, its title on line one."""

from pathlib import Path

from planner.trade.refusals import Refusal, quoted

_FOLDER = Path(__file__).parent / "help"

# In the order in which somebody new would want them.
TOPICS = (
    "figures",
    "stages",
    "record",
    "changes",
    "sizes",
    "car",
    "commands",
    "rehearsal",
    "work",
    "rules",
    "tracks",
    "storage",
    "scripts",
)


def page(topic: str) -> str:
    """Return a page.

    Raises
    ------
    Refusal
        There is none of that name.
    """
    if topic not in TOPICS:
        raise Refusal(
            "bad-value",
            f"There is no page {quoted(topic)}.",
            where="TOPIC",
            hint=f"treadgate help, then one of {', '.join(TOPICS)}",
        )
    return (_FOLDER / f"{topic}.txt").read_text("utf-8").rstrip("\n")


def titles() -> tuple[tuple[str, str], ...]:
    """Return every topic with the title of its page."""
    return tuple((topic, page(topic).partition("\n")[0]) for topic in TOPICS)
