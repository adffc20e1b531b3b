"""The two ways a question can fail: the input was bad, or there is no such answer."""


class InputError(ValueError):
    """The input is wrong; the message names what, where and what is expected (status 2)."""


class ArgumentError(InputError):
    """An argument is wrong; whoever asked spells its name as it was given to them.

    Attributes
    ----------
    name : str
        The argument, as the library calls it.
    said : str
        What is wrong with it, to follow the name; other arguments stand in it in backquotes.
    """

    def __init__(self, name: str, said: str) -> None:
        super().__init__(f"{name}{said}")
        self.name, self.said = name, said


class NoAnswer(Exception):  # noqa: N818 - not an error of anybody's: the lake simply says no
    """The input is fine but nothing fulfils it; the message says what can be had (status 1)."""


def one_line(text: object, limit: int = 300) -> str:
    r"""Fold any text into one printable line, so that an error stays one line on any screen.

    >>> one_line("a\n  b\x00")
    'a b?'
    """
    folded = " ".join(str(text).split())
    clean = "".join(c if c.isprintable() else "?" for c in folded)
    return clean if len(clean) <= limit else clean[: limit - 3] + "..."
