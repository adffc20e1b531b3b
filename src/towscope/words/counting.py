"""Say how many of a thing there are, with the thing in its right number."""

from __future__ import annotations


def counted(count: int, what: str, many: str = "") -> str:
    """Say how many of a thing there are.

    Parameters
    ----------
    count : int
        How many.
    what : str
        One of them: "track point".
    many : str, optional
        Several of them, where it is not `what` with an s.

    Returns
    -------
    str
        Both, thousands parted by commas.

    Examples
    --------
    >>> counted(1, "track point"), counted(1234, "track point"), counted(0, "fix", "fixes")
    ('1 track point', '1,234 track points', '0 fixes')
    """
    return f"{count:,} {what if count == 1 else many or what + 's'}"
