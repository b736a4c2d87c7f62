"""A group of commands, each in a module of its own that is loaded only when it is asked for."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Sequence


class LazyGroup(click.Group):
    """A group whose command `add-local` stands in the module PREFIX + `add_local`, as `command`."""

    def __init__(self, *args: Any, names: Sequence[str] = (), prefix: str = "", **kwargs: Any) -> None:  # noqa: ANN401 - click's
        """Take the names in the order in which they are shown, and what their modules begin with."""
        super().__init__(*args, **kwargs)
        self.names, self.prefix = tuple(names), prefix

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - the signature is click's
        """Name the commands in their order."""
        return list(self.names)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as above
        """Load one command; None for a name that is none."""
        if cmd_name not in self.names:
            return None
        command = import_module(self.prefix + cmd_name.replace("-", "_")).command
        return command if isinstance(command, click.Command) else None
