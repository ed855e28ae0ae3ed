"""Writing files whole or not at all: a reader never sees half a file, and a failure keeps the old one."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from marker.errors import InputError


def write_text(path: str | Path, text: str) -> None:
    """Write ``text`` as UTF-8. Raises InputError if that cannot be done; the old file is then intact."""
    write_all({path: text.encode("utf-8")})


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write ``data``. Raises InputError if that cannot be done; the old file is then intact."""
    write_all({path: data})


def write_all(files: Mapping[str | Path, bytes] | Mapping[str, bytes] | Mapping[Path, bytes]) -> None:
    """Write several files; folders are made where missing.

    Every file is written out beside its place before the first is moved there, so a disk that fills
    up or a folder that is not writable leaves all old files as they were. Raises InputError.
    """
    prepared: list[tuple[Path, Path]] = []
    made: list[Path] = []
    try:
        for name, data in files.items():
            try:
                # A link stays a link: the file it points to is the one replaced.
                target = Path(os.path.realpath(name))
                if target.is_dir():
                    raise InputError(f"{name}: cannot be written: it is a folder; name a file.")
                if target.exists() and not target.is_file():
                    raise InputError(f"{name}: cannot be written: it is not an ordinary file; name another.")
                _make_folder(target.parent, made)
                temporary = target.with_name(f".{target.name[:60]}.{secrets.token_hex(6)}.part")
                prepared.append((temporary, target))
                _write_out(temporary, data)
            except (OSError, ValueError) as error:
                raise _cannot(name, error) from None
        for temporary, target in prepared:
            try:
                temporary.replace(target)
            except OSError as error:
                raise _cannot(target, error) from None
    except BaseException:
        for temporary, _ in prepared:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
        for folder in reversed(made):
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise
    for folder in {target.parent for _, target in prepared}:
        _sync_folder(folder)


def _make_folder(folder: Path, made: list[Path]) -> None:
    missing = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    for each in reversed(missing):
        each.mkdir(exist_ok=True)
        made.append(each)


def _write_out(path: Path, data: bytes) -> None:
    # Opened by number so that the file gets the permissions any new file would get.
    with os.fdopen(
        os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666), "wb"
    ) as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the new names durable where the system can; the files themselves are safe already."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _cannot(path: str | Path, error: Exception) -> InputError:
    if isinstance(error, (FileExistsError, NotADirectoryError)):
        reason = "there is a file where a folder should be"
    else:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
    return InputError(
        f"{path}: cannot be written: {reason}; nothing was changed, "
        "so make room there or choose another place with --out."
    )
