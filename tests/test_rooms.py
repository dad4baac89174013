"""The map in DEVELOPERS.md is the program: every module has its room, imports go one way."""

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "planner"

# Where a library is used that other rooms are to stay free of, or that takes long to load.
ONLY_IN = {
    "click": {"commands"},
    "rich": {"screen", "guide", "commands"},
    "filelock": {"storage"},
    "transitions": {"plan"},
    "jinja2": {"report"},
    "matplotlib": {"report"},
    "tomli_w": {"learning", "export"},
    "cattrs": {"files", "storage"},
}
# The make-believe car would be no test of the planner if it went by what the planner thinks.
# It meets the plan here alone.
MEETS_THE_PLAN = {"by_the_plan", "hood"}
THINKS = ("learning", "judging", "advice", "plan")


def rooms() -> list[str]:
    """Return the rooms as `planner/__init__.py` lists them, from the door to the foundations."""
    return re.findall(r"^``(\w+)``", (PACKAGE / "__init__.py").read_text("utf-8"), re.MULTILINE)


def room(module: str) -> str:
    """Return the room of a module."""
    return module.split(".")[1]


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


def test_every_folder_is_a_room_and_every_room_a_folder_with_its_sentence() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists()}
    assert sorted(rooms()) == sorted(folders)
    loose = {path.name for path in PACKAGE.glob("*.py")}
    assert loose == {"__init__.py", "__main__.py"}
    for name in folders:
        assert ast.get_docstring(ast.parse((PACKAGE / name / "__init__.py").read_text("utf-8")))


def test_a_room_imports_from_itself_and_from_those_below() -> None:
    place = {name: number for number, name in enumerate(rooms())}
    up = [
        f"{module} imports {used}"
        for module, uses in imported().items()
        for used in uses & set(sources())
        if module.count(".") and module != "planner.__main__" and used.count(".")
        if place[room(used)] < place[room(module)]
    ]
    assert not up, up


def test_imports_go_one_way() -> None:
    left = {name: used & set(sources()) for name, used in imported().items()}
    while left:
        free = {name for name, used in left.items() if not used & set(left)}
        assert free, f"a circle among {sorted(left)}"
        left = {name: used for name, used in left.items() if name not in free}


def test_libraries_stay_in_the_rooms_they_belong_to() -> None:
    for module, uses in imported().items():
        for library in {used.partition(".")[0] for used in uses} & set(ONLY_IN):
            assert room(module) in ONLY_IN[library], f"{module} imports {library}"


def test_the_middle_knows_no_plan_file() -> None:
    for module, used in imported().items():
        if "planner.storage.planfile" in used:
            assert room(module) in ("storage", "guide", "commands", "export"), module


def test_the_simulated_car_knows_nothing_of_what_the_planner_thinks() -> None:
    def reached(module: str) -> set[str]:
        near = imported()[module] & set(sources())
        return near.union(*(reached(each) for each in near)) if near else set()

    thinks = tuple(f"planner.{module}" for module in THINKS)
    modules = {path.stem for path in (PACKAGE / "rehearsal").glob("*.py")}
    assert modules > MEETS_THE_PLAN
    for name in sorted(modules - MEETS_THE_PLAN - {"__init__"}):
        known = {
            part
            for part in reached(f"planner.rehearsal.{name}")
            for t in thinks
            if part.startswith(t)
        }
        assert not known, f"{name} reaches {known}"


def test_the_simulated_car_has_formulas_of_its_own() -> None:
    # A planner that is tried on the formulas it reckons with would be tried on itself.
    for module, used in imported().items():
        if room(f"{module}.") == "rehearsal":
            shared = {each for each in used if each.startswith("planner.chassis")}
            assert not shared, f"{module} imports {shared}"
            assert "planner.car.in_turn" not in used, module
