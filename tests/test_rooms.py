"""The map in DEVELOPERS.md is the program: every module has its room, imports go one way."""

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "planner"
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")

# Where a library is used that other rooms are to stay free of, or that takes long to load.
ONLY_IN = {
    "click": {"Commands"},
    "rich": {"What is shown", "The guided day", "Commands"},
    "filelock": {"Storage"},
    "transitions": {"Decision and steps"},
    "jinja2": {"Paper"},
    "matplotlib": {"Paper"},
    "tomli_w": {"Learning", "Export", "Storage", "The guided day"},
    "cattrs": {"Files"},
}
# The make-believe car would be no test of the planner if it went by what the planner thinks.
PHYSICS = ("truth", "world", "laps", "heat", "tread", "pace", "faults", "good", "car")
THINKS = ("learning", "patterns", "candidates", "outlook", "trims", "ahead", "day", "replay")


def rooms() -> dict[str, list[str]]:
    """Return the modules of every room by the map, in its order."""
    found: dict[str, list[str]] = {}
    start, end = DEVELOPERS.index("## The map"), DEVELOPERS.index("### Amending")
    for room in re.split(r"^(?=\*\*)", DEVELOPERS[start:end], flags=re.MULTILINE)[1:]:
        title = re.match(r"\*\*(.+?)\*\*, in `(planner/(?:\w+/)?)`", room)
        assert title, room
        name, folder = title.groups()
        listed = [line for line in room.splitlines() if line.startswith(("- `", "  `"))]
        modules = [m for line in listed for m in re.findall(r"`(\w+)\.py`", line)]
        found[name] = [f"{folder}{module}".replace("/", ".") for module in modules]
    return found


@cache
def sources() -> dict[str, Path]:
    """Return every module of the program by its name."""
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in PACKAGE.rglob("*.py")
    }


@cache
def imported() -> dict[str, set[str]]:
    """Return what each module imports, of this program and of others, wherever in it."""
    found: dict[str, set[str]] = {}
    for name, path in sources().items():
        used: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                parts = {f"{node.module}.{alias.name}" for alias in node.names}
                used |= {part if part in sources() else node.module for part in parts}
            elif isinstance(node, ast.Import):
                used |= {alias.name for alias in node.names}
        found[name] = used - {name, "planner"}
    return found


ROOM = {module: name for name, modules in rooms().items() for module in modules}


def test_every_module_has_one_room_and_every_room_its_modules() -> None:
    listed = [module for modules in rooms().values() for module in modules]
    assert len(listed) == len(set(listed))
    packages = {name for name, path in sources().items() if path.name == "__init__.py"}
    assert set(listed) == set(sources()) - packages - {"planner.__main__"}


def test_a_room_imports_from_itself_and_from_those_above() -> None:
    place = {name: number for number, name in enumerate(rooms())}
    down = [
        f"{module} imports {used}"
        for module, room in ROOM.items()
        for used in imported()[module]
        if used in ROOM and place[ROOM[used]] > place[room]
    ]
    assert not down, down


def test_imports_go_one_way() -> None:
    left = {name: used & set(sources()) for name, used in imported().items()}
    while left:
        free = {name for name, used in left.items() if not used & set(left)}
        assert free, f"a circle among {sorted(left)}"
        left = {name: used for name, used in left.items() if name not in free}


def test_libraries_stay_in_the_rooms_they_belong_to() -> None:
    for module, room in ROOM.items():
        for library in {used.partition(".")[0] for used in imported()[module]} & set(ONLY_IN):
            assert room in ONLY_IN[library], f"{module} imports {library}"


def test_the_middle_knows_no_plan_file() -> None:
    for module, used in imported().items():
        if "planner.storage.planfile" in used:
            assert ROOM[module] in ("Storage", "The guided day", "Commands"), module


def test_the_simulated_car_knows_nothing_of_what_the_planner_thinks() -> None:
    def reached(module: str) -> set[str]:
        near = imported()[module] & set(sources())
        return near.union(*(reached(each) for each in near)) if near else set()

    thinks = tuple(f"planner.{module}" for module in THINKS)
    for name in PHYSICS:
        known = {
            part
            for part in reached(f"planner.rehearsal.{name}")
            for t in thinks
            if part.startswith(t)
        }
        assert not known, f"{name} reaches {known}"
