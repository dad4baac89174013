"""``treadgate completion``: the script that lets a shell complete commands, options and files."""

import click
from click.shell_completion import get_completion_class

from planner.commands import COMPLETING, output

SHELLS = ("bash", "zsh", "fish")

_HOW = {
    "bash": 'add to ~/.bashrc: eval "$(treadgate completion bash)"',
    "zsh": 'add to ~/.zshrc: eval "$(treadgate completion zsh)"',
    "fish": "treadgate completion fish > ~/.config/fish/completions/treadgate.fish",
}


@click.command("completion", epilog="\b\n" + "\n".join(_HOW.values()))
@click.argument("shell", type=click.Choice(SHELLS))
def command(shell: str) -> None:
    """Print the completion script for SHELL."""
    kind = get_completion_class(shell)
    assert kind is not None
    root = click.get_current_context().find_root().command
    output.write(kind(root, {}, "treadgate", COMPLETING).source().strip("\n"))
