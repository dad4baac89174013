"""No core room composes a sentence: facts in the core, words at the rim.

A text with a blank between two words is taken for a sentence. Refusals may be worded where they are
raised, and so may what goes into one: the arguments of whatever raises or makes a refusal, the
names those are kept under until then, and lists of mistakes in a file, which become one.
"""

import ast
import re
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "planner"
CORE = ("plan", "advice", "judging", "learning", "car", "chassis", "rulebook", "run")

# Modules that word mistakes in a file for the refusal of it, one function a kind of mistake.
MISTAKES = {
    "learning/taught.py",
    "learning/observed.py",
    "car/car_file.py",
    "rulebook/checks.py",
    "rulebook/entry_checks.py",
}

# Units, and names of things, that have blanks in them.
NAMES = {"in per in", "lb/in at the wheel", "spring over wheel travel", "(0 to 1)", "base {}"}
NAMES |= {"{}, row {}, column {}"}  # a cell of a file

REFUSALS = {"Refusal", "Unusable", "ValueError", "TypeError", "KeyError"}


@cache
def core() -> dict[str, ast.Module]:
    """Return the modules of the core rooms, parsed."""
    return {
        f"{room}/{path.name}": ast.parse(path.read_text("utf-8"))
        for room in CORE
        for path in sorted((PACKAGE / room).glob("*.py"))
    }


def called(node: ast.Call) -> str:
    """Return the plain name of what is called."""
    return node.func.attr if isinstance(node.func, ast.Attribute) else ast.unparse(node.func)


def refuses(function: ast.FunctionDef) -> bool:
    """Say whether a function itself raises a refusal, or returns one or complaints for one."""
    returns = ast.unparse(function.returns) if function.returns else ""
    return returns in REFUSALS or any(
        isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and called(node.exc) in REFUSALS
        for node in ast.walk(function)
    )


@cache
def refusing() -> set[str]:
    """Return the names of all that raises or makes a refusal in the core."""
    return REFUSALS | {
        node.name
        for tree in core().values()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and refuses(node)
    }


def sentences(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield every text of several words; docstrings, options and units are none."""
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(
                part.value if isinstance(part, ast.Constant) else "{}" for part in node.values
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        words = re.findall(r"(?<![^\s({])[a-zA-Z]+(?![^\s,.;:)}])", text)
        option = text.startswith(("--", "{"))
        if (
            text not in NAMES
            and id(node) not in docs
            and " " in text.strip()
            and len(words) > (1 if option else 0)
        ):
            yield node


def in_refusals(function: ast.AST, constants: Sequence[ast.AST]) -> list[ast.AST]:
    """Return the parts of a function that are of a refusal, or no text for a reader."""
    parts: list[ast.AST] = [
        node
        for node in ast.walk(function)
        if isinstance(node, ast.Raise | ast.Assert)
        or (isinstance(node, ast.Call) and called(node) in refusing() | {"compile"})
    ]
    assigned = [n for n in ast.walk(function) if isinstance(n, ast.Assign | ast.AugAssign)]
    assigned += constants
    while True:  # and what the names in them were made of before
        kept = {node.id for part in parts for node in ast.walk(part) if isinstance(node, ast.Name)}
        more = [each for each in assigned if each not in parts and set(stored(each)) & kept]
        if not more:
            return parts
        parts += more


def stored(assignment: ast.AST) -> Iterator[str]:
    """Yield the names that are assigned to."""
    for node in ast.walk(assignment):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id


def excused(tree: ast.Module) -> set[int]:
    """Return the nodes that are no sentences of the core's own."""
    parts: list[ast.AST] = []
    constants = [each for each in tree.body if isinstance(each, ast.Assign | ast.AnnAssign)]
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            returns = ast.unparse(node.returns) if node.returns else ""
            parts += [node] if returns in REFUSALS else in_refusals(node, constants)
        if isinstance(node, ast.arg | ast.AnnAssign | ast.FunctionDef):  # types in quotes
            note = node.returns if isinstance(node, ast.FunctionDef) else node.annotation
            parts += [] if note is None else [note]
        if isinstance(node, ast.JoinedStr):
            parts += node.values
    return {id(node) for part in parts for node in ast.walk(part)}


@pytest.mark.parametrize("module", core())
def test_no_core_module_composes_a_sentence(module: str) -> None:
    tree = core()[module]
    left = {id(node) for node in ast.walk(tree)} if module in MISTAKES else excused(tree)
    said = [
        f"{node.lineno}: {ast.unparse(node)}" for node in sentences(tree) if id(node) not in left
    ]
    assert not said, "\n".join(said)


# --- and nobody reads a sentence back ---------------------------------------------------------

TAKES_APART = {"startswith", "endswith", "partition", "rpartition", "split", "find", "index"}
TAKES_APART |= {"removeprefix", "removesuffix", "match", "search", "fullmatch", "findall"}


def word_modules(tree: ast.Module) -> set[str]:
    """Return the names by which a module knows those of `words`."""
    return {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module == "planner.words"
        for alias in node.names
    }


def is_sentence(node: ast.expr, words: set[str], kept: set[str]) -> bool:
    """Say whether an expression is a sentence: made by `words`, a rule's own, or one kept."""
    if isinstance(node, ast.Call):
        made_by = node.func.value if isinstance(node.func, ast.Attribute) else None
        return isinstance(made_by, ast.Name) and made_by.id in words
    if isinstance(node, ast.Attribute):
        return node.attr in ("says", "means")
    return isinstance(node, ast.Name) and node.id in kept


def read_back(function: ast.AST, words: set[str]) -> Iterator[ast.AST]:
    """Yield where a sentence is taken apart or compared with a text."""
    kept = {
        target.id
        for node in ast.walk(function)
        if isinstance(node, ast.Assign) and is_sentence(node.value, words, set())
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    for node in ast.walk(function):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            subjects = [node.func.value, *node.args]
            if node.func.attr in TAKES_APART and any(
                is_sentence(each, words, kept) for each in subjects
            ):
                yield node
        if (
            isinstance(node, ast.Compare)
            and any(
                isinstance(each, ast.Constant) and each.value and isinstance(each.value, str)
                for each in (node.left, *node.comparators)
            )
            and any(is_sentence(each, words, kept) for each in (node.left, *node.comparators))
        ):
            yield node


MODULES = {str(path.relative_to(PACKAGE)): path for path in sorted(PACKAGE.rglob("*.py"))}


@pytest.mark.parametrize("module", MODULES)
def test_nothing_branches_on_the_text_of_a_sentence(module: str) -> None:
    tree = ast.parse(MODULES[module].read_text("utf-8"))
    found = [
        f"{node.lineno}: {ast.unparse(node)}"
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for node in read_back(function, word_modules(tree))
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "line",
    [
        "pattern_words.says(pattern, book, 'us').startswith('RF')",
        "'rule of thumb' in offers.rests_on(candidate, system)",
        "pattern.says.partition(':')[0]",
        "re.match('RF', rule.says)",
        "offers.title(candidate) == 'as it was'",
    ],
)
def test_a_sentence_read_back_is_found(line: str) -> None:
    tree = ast.parse(f"def read():\n    return {line}\n")
    assert list(read_back(tree.body[0], {"pattern_words", "offers"}))


def test_a_sentence_kept_and_read_back_is_found() -> None:
    tree = ast.parse("def read():\n    said = offers.why(c)\n    return said.endswith('.')\n")
    assert list(read_back(tree.body[0], {"offers"}))
