"""Writing files whole or not at all: a reader never sees half a file, and a failure keeps the old ones.

A set of files is written out in a folder of its own beside the places where it belongs, named
``.marker-`` and twelve hexadecimal digits and ``.part``. Only then the old files are moved into that
folder and the new ones out of it, so that old and new never stand side by side, whenever the process is
killed. What a killed process leaves is finished, or cleared away, when files are next written there: it
is known to be dead because the system has let go of the lock that it held.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import shutil
from collections.abc import Iterable, Mapping
from pathlib import Path

from marker.errors import InputError

LEFT = ".marker-*.part"
"""What the folders that killed processes leave are called, as a file name pattern."""
_OURS = re.compile(r"\.marker-[0-9a-f]{12}\.part")
_LOCK, _MAKING, _NEW, _OLD, _GONE = "lock", "making", "new", "old", "gone"
_TAKEN = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)


def write_text(path: str | Path, text: str) -> None:
    """Write ``text`` as UTF-8. Raises InputError if that cannot be done; the old file is then intact."""
    write_all({path: text.encode("utf-8")})


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write ``data``. Raises InputError if that cannot be done; the old file is then intact."""
    write_all({path: data})


def write_all(
    files: Mapping[str | Path, bytes] | Mapping[str, bytes] | Mapping[Path, bytes],
    outdated: Iterable[Path] = (),
) -> None:
    """Write several files; folders are made where missing, other files in them stay as they are.

    ``outdated`` are files beside them that go when the new ones come, because they would contradict them.

    Every file is written out before the first is moved to its place, so a disk that fills up or a
    folder that is not writable leaves all old files as they were. Raises InputError.
    """
    drafts: dict[Path, _Draft] = {}
    try:
        for name, data in files.items():
            try:
                # A link stays a link: the file it points to is the one replaced.
                target = Path(os.path.realpath(name))
                if target.is_dir():
                    raise InputError(f"{name}: cannot be written: it is a folder; name a file.")
                if target.exists() and not target.is_file():
                    raise InputError(f"{name}: cannot be written: it is not an ordinary file; name another.")
                root = _nearest_folder(target.parent)
                if root not in drafts:
                    settle(root)
                    drafts[root] = _Draft(root)
                drafts[root].add(target.relative_to(root), data)
            except (OSError, ValueError) as error:
                raise _cannot(name, error) from None
        for path in outdated:
            root = Path(os.path.realpath(path.parent))
            if root in drafts:
                drafts[root].gone.append(Path(path.name))
        for draft in drafts.values():
            draft.exchange()
    finally:
        for draft in drafts.values():
            draft.close()


def settle(folder: Path) -> None:
    """Finish or clear away what killed processes have left of sets of files meant for ``folder``.

    A set that was written out whole is moved to its places, any other is deleted. Sets of processes
    that are still at work are left alone, and so is everything that does not look like ours. A folder
    that was missing is made from further up, so that is where such a set may be as well.
    """
    nearest = _nearest_folder(Path(os.path.realpath(folder)))
    for place in (nearest, *list(nearest.parents)[:2]):
        with contextlib.suppress(OSError):
            for left in [path for path in place.iterdir() if _OURS.fullmatch(path.name)]:
                with contextlib.suppress(OSError):
                    _settle_one(left)


def _settle_one(left: Path) -> None:
    if left.is_symlink() or not left.is_dir():
        return
    if not any(left.iterdir()):
        left.rmdir()
        return
    lock = os.open(left / _LOCK, os.O_RDWR)
    try:
        if not _locked(lock):
            return
        if (left / _NEW).is_dir():
            for name in (left / _GONE).read_text("utf-8").splitlines():
                (left.parent / Path(name).name).unlink(missing_ok=True)
            _move_in(left / _NEW, left.parent)
        _clear(left)
    finally:
        os.close(lock)
    _clear_lock(left)


class _Draft:
    """Files on their way into ``root`` and the folders below it."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder, self.lock = _begun(root)
        self.paths: list[Path] = []
        self.gone: list[Path] = []

    def add(self, path: Path, data: bytes) -> None:
        """Write out what shall stand at ``path`` below ``root``."""
        draft = self.folder / _MAKING / path
        draft.parent.mkdir(parents=True, exist_ok=True)
        _write_out(draft, data)
        self.paths.append(path)

    def exchange(self) -> None:
        """Put the new files in the place of the old ones, or raise InputError and leave the old ones."""
        aside: list[Path] = []
        # One file alone takes the place of another in one step.
        first = [*self.gone, *(self.paths if len(self.paths) > 1 else ())]
        try:
            _write_out(self.folder / _GONE, "".join(f"{path}\n" for path in self.gone).encode())
            (self.folder / _MAKING).replace(self.folder / _NEW)
            for path in first:
                if (self.root / path).exists():
                    (self.folder / _OLD / path).parent.mkdir(parents=True, exist_ok=True)
                    (self.root / path).replace(self.folder / _OLD / path)
                    aside.append(path)
            _move_in(self.folder / _NEW, self.root)
        except BaseException as error:
            self._undo(aside)
            if isinstance(error, OSError):
                raise _cannot(self._named(error), error) from None
            raise
        for folder in {(self.root / path).parent for path in self.paths}:
            _sync_folder(folder)

    def _undo(self, aside: list[Path]) -> None:
        begun = (self.folder / _NEW).is_dir() and len(self.paths) > 1
        with contextlib.suppress(OSError):
            for path in aside:
                (self.folder / _OLD / path).replace(self.root / path)
            for path in self.paths if begun else ():
                if path not in aside and not (self.folder / _NEW / path).exists():
                    (self.root / path).unlink(missing_ok=True)

    def _named(self, error: OSError) -> Path:
        """The file in its place that could not be moved."""
        for name in (error.filename, error.filename2):
            if name and self.folder not in Path(name).parents:
                return Path(name)
        return self.root

    def close(self) -> None:
        """Clear the draft away and let go of its lock."""
        with contextlib.suppress(OSError):
            _clear(self.folder)
        os.close(self.lock)
        with contextlib.suppress(OSError):
            _clear_lock(self.folder)


def _begun(root: Path) -> tuple[Path, int]:
    """A new folder for a draft and its lock, held as long as this process lives."""
    while True:
        folder = root / f".marker-{secrets.token_hex(6)}.part"
        folder.mkdir()
        try:
            lock = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666)
        except FileNotFoundError:
            # Another process took the empty folder for one left behind.
            continue
        except BaseException:
            folder.rmdir()
            raise
        if _locked(lock, else_=True) and (folder / _LOCK).exists():
            return folder, lock
        os.close(lock)


def _locked(handle: int, else_: bool = False) -> bool:
    """Whether the lock is ours now; ``else_`` where the file system knows no locks."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return else_ and error.errno not in _TAKEN
    return True


def _move_in(source: Path, place: Path) -> None:
    """Move what is in the folder ``source`` into ``place``; a folder missing there moves as a whole."""
    for each in sorted(source.iterdir()):
        there = place / each.name
        if each.is_symlink() or not each.is_dir():
            each.replace(there)
        elif there.is_dir():
            _move_in(each, there)
        else:
            try:
                each.rename(there)
            except OSError:
                # Another process may have made that folder meanwhile.
                if not there.is_dir():
                    raise
                _move_in(each, there)


def _clear(folder: Path) -> None:
    for name in (_MAKING, _NEW, _OLD):
        if (folder / name).is_dir():
            shutil.rmtree(folder / name)


def _clear_lock(folder: Path) -> None:
    (folder / _GONE).unlink(missing_ok=True)
    (folder / _LOCK).unlink(missing_ok=True)
    folder.rmdir()


def _nearest_folder(folder: Path) -> Path:
    while not folder.exists():
        folder = folder.parent
    return folder


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
