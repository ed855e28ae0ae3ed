"""The bytes of a file that somebody named, with one sentence for everything that can go wrong."""

from __future__ import annotations

from pathlib import Path

from marker.files.messages import sentence


def read_bytes(path: str | Path, most: int, too_large: str) -> bytes:
    """What is in a file of at most ``most`` bytes; no more than that is read.

    Raises InputError naming the file if it cannot be read; for a larger one ``too_large`` says what follows
    from it, like "save it smaller".
    """
    try:
        with Path(path).open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise sentence(path, [], "there is no such file; check the name and the folder") from None
    except IsADirectoryError:
        raise sentence(path, [], "this is a folder; name a file in it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not valid"
        told = f"cannot be read ({reason.lower()}); check that the file is yours to read"
        raise sentence(path, [], told) from None
    if len(data) > most:
        raise sentence(path, [], f"is larger than {most // 1_000_000} MB{too_large}")
    return data
