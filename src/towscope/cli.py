"""Finds the command that was typed, runs it, and ends cleanly with its exit status.

Nothing heavy is imported here or at the top of the command modules, so that `--help` is quick.
"""

from __future__ import annotations

import gc
import os
import re
import sys
from contextvars import copy_context
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from towscope.errors import ArgumentError, InputError, NoAnswer, one_line
from towscope.retold import retold
from towscope.words import shown_in, spelled

if TYPE_CHECKING:
    import typer

# The order is the order of the help page: the question first, then the day, then the rest.
ROOMS: Final = (
    "line", "log", "day", "pattern", "fish", "spread", "follow", "calibrate", "lake", "serve",
    "site",
)  # fmt: skip
# The quick questions are all in the first room: asked one, the others need not be set up.
QUICK: Final = frozenset({"letout", "depth", "speed", "table", "reel", "stock"})

# Arguments of the library that go by other names on the command line.
OPTIONS: Final = {"let_out": ("out",), "path": ("output", "out", "file")}


def build(rooms: tuple[str, ...] = ROOMS) -> typer.Typer:
    """Give the application with the commands of these rooms in it."""
    import typer

    app = typer.Typer(
        name="towscope",
        help="Where a trolled lure runs, how sure that is, and what to change.",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback(invoke_without_command=True)
    def top(
        version: bool = typer.Option(False, "--version", help="Show the version and stop."),
    ) -> None:
        if version:
            from towscope import __version__

            typer.echo(f"towscope {__version__}")
            raise typer.Exit

    for room in rooms:
        import_module(f"towscope.commands.{room}").register(app)
    return app


def main(argv: list[str] | None = None) -> None:
    """Run the command line and exit: 0 an answer, 1 no such answer, 2 bad input."""
    sys.exit(run(sys.argv[1:] if argv is None else argv))


def run(argv: list[str]) -> int:
    """Run one command and give its exit status; one line on standard error where it fails."""
    return copy_context().run(_run, argv)  # its units are not those of what is asked after it


def _run(argv: list[str]) -> int:
    import typer.main

    # A short command makes objects and ends; looking for garbage among them costs a tenth of it.
    gc.set_threshold(200_000, 50, 50)
    shown_in(_asked_units(argv))
    try:
        quick = argv[:1] == ["--version"] or (argv and argv[0] in QUICK)
        rooms = ROOMS[:1] if quick else ROOMS
        command = typer.main.get_command(build(rooms))
        _spell_help(command)
        status = command(args=argv, prog_name="towscope", standalone_mode=False)
        sys.stdout.flush()
        return int(status or 0)
    except typer.Exit as stop:
        return int(stop.exit_code)
    except (typer.Abort, KeyboardInterrupt):
        return _fail("stopped", 130)
    except NoAnswer as answer:
        return _fail(retold(str(answer)), 1)
    except ArgumentError as error:
        return _fail(retold(_as_typed(error, command, argv)), 2)
    except InputError as error:
        return _fail(retold(str(error)), 2)
    except BrokenPipeError:  # the reader closed early (`| head`): nothing is wrong
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (OSError, MemoryError) as error:
        return _fail(_system(error), 2)
    except Exception as error:
        if hasattr(error, "format_message"):  # wrong words on the command line
            return _usage(error)
        if os.environ.get("TOWSCOPE_DEBUG"):
            raise
        return _fail(
            f"a fault in towscope itself ({type(error).__name__}: {error}); nothing was written; "
            "set TOWSCOPE_DEBUG=1 to see where",
            70,
        )


def _asked_units(argv: list[str]) -> str:
    """Give the units asked for, before the command line is read: its faults are spelled too."""
    asked = os.environ.get("TOWSCOPE_UNITS") or "us"
    for here, after in zip(argv, [*argv[1:], ""], strict=True):
        if here == "--units":
            asked = after
        elif here.startswith("--units="):
            asked = here.removeprefix("--units=")
    return asked.lower()


def _spell_help(command: Any) -> None:
    """Spell the help of a command and of all below it."""
    for holder in (command, *getattr(command, "params", ())):
        for name in ("help", "short_help", "epilog"):
            if isinstance(text := getattr(holder, name, None), str):
                setattr(holder, name, spelled(text))
    for below in getattr(command, "commands", {}).values():
        _spell_help(below)


def _as_typed(error: ArgumentError, command: Any, argv: list[str]) -> str:
    """Say what is wrong with an argument of the library, spelled as this command takes it."""
    for word in argv:
        command = getattr(command, "commands", {}).get(word, command)
    shown: dict[str, str] = {}
    for each in command.params:
        option = each.param_type_name == "option"
        name = each.opts[0] if option else (each.metavar or each.name).strip("[].")
        names = {each.name, *(opt.strip("-").replace("-", "_") for opt in each.opts)}
        shown |= dict.fromkeys(names, name)

    def spell(name: str) -> str:
        return next((shown[n] for n in (name, *OPTIONS.get(name, ())) if n in shown), name)

    return spell(error.name) + re.sub(r"`(\w+)`", lambda match: spell(match[1]), error.said)


def _fail(message: str, status: int) -> int:
    print(f"towscope: {one_line(spelled(message), 500)}", file=sys.stderr)
    return status


def _usage(error: Any) -> int:
    message = str(error.format_message())
    if type(error).__name__ == "NoArgsIsHelpError":  # nothing asked: the help is the answer
        print(message)
        return 2
    context = getattr(error, "ctx", None)
    hint = f"; see {context.command_path} --help" if context is not None else ""
    return _fail(message.rstrip(".") + hint, 2)


def _system(error: OSError | MemoryError) -> str:
    if isinstance(error, MemoryError):
        return "not enough memory for this; try fewer or smaller inputs"
    name = f"{error.filename}: " if error.filename else ""
    return f"{name}{error.strerror or error}"


if __name__ == "__main__":
    main()
