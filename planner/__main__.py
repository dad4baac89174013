"""Lets ``python -m planner`` do what ``treadgate`` does."""

import gc
import sys

# A plan is read into many small records, all of which stay. Python would look through them for
# rings of garbage ever again while they are made; on a long plan that is a tenth of a command.
LOOK_EVERY = 50_000  # new objects


def main() -> None:
    """Run the command line and leave with its exit status."""
    gc.set_threshold(LOOK_EVERY)
    try:
        from planner import commands

        commands.main()
    except KeyboardInterrupt:  # before the command line was ready for it
        sys.exit(130)


if __name__ == "__main__":
    main()
