"""The strips in the terminal: each figure that was out of band, over the runs of the day."""

from garage import Crew, run_command, tires


def strips(crew: Crew) -> list[str]:
    """Return the lines of the strips in the words of ``status``, at 80 columns."""
    lines = run_command("status", crew.path, "--full").out.splitlines()
    starts = [n for n, line in enumerate(lines) if line.startswith("How it went")]
    if not starts:
        return []
    rest = lines[starts[0] + 1 :]
    return rest[: rest.index("")]


def test_one_run_has_no_trend(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0}))
    assert strips(begun) == []


def test_a_figure_that_was_out_of_band_is_shown_run_by_run_against_its_band(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0}))
    begun.changed()
    begun.record(tires(split={"RF": 4.0}))
    (split,) = [line for line in strips(begun) if "RF split" in line]
    strip = split.split()[3]
    assert strip.index("[") < strip.index("2") < strip.index("]") < strip.index("1")
    assert split.split()[2] == "-10.0"
    assert split.split()[4] == "+20.0"
    assert len(split) <= 80


def test_a_run_that_judges_nothing_keeps_its_number_but_has_no_mark(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0}))
    begun.changed()
    begun.record(tires(split={"RF": 12.0}), "--flag", "lockup")
    begun.record(tires(split={"RF": 4.0}))
    (split,) = [line for line in strips(begun) if "RF split" in line]
    strip = split.split()[3]
    assert "3" in strip
    assert "2" not in strip
