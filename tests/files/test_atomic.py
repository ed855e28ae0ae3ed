"""Files are written whole or not at all."""

import errno
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from marker.errors import InputError
from marker.files import atomic
from marker.files.atomic import write_all, write_bytes, write_text


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_text_and_bytes_arrive_and_folders_are_made(tmp_path):
    write_text(tmp_path / "new" / "folder" / "a.txt", "½ yd\n")
    write_bytes(tmp_path / "b.png", b"\x89PNG")
    assert (tmp_path / "new" / "folder" / "a.txt").read_bytes() == "½ yd\n".encode()
    assert (tmp_path / "b.png").read_bytes() == b"\x89PNG"
    assert names(tmp_path) == ["b.png", "new"]


def test_an_old_file_is_replaced(tmp_path):
    write_text(tmp_path / "a.txt", "old")
    write_text(tmp_path / "a.txt", "new")
    assert (tmp_path / "a.txt").read_text() == "new"
    assert names(tmp_path) == ["a.txt"]


def test_a_new_file_has_the_permissions_of_any_new_file(tmp_path):
    write_text(tmp_path / "a.txt", "x")
    (tmp_path / "b.txt").write_text("x")
    assert (tmp_path / "a.txt").stat().st_mode == (tmp_path / "b.txt").stat().st_mode


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_text(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink() and (tmp_path / "real.txt").read_text() == "new"


class FullDisk:
    """Stands in for fsync: the disk fills up at the n-th file."""

    def __init__(self, at):
        self.at, self.seen = at, 0

    def __call__(self, handle):
        self.seen += 1
        if self.seen == self.at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_disk_that_fills_up_leaves_every_old_file_and_no_rubbish(tmp_path, monkeypatch):
    (tmp_path / "a.json").write_text("old a")
    (tmp_path / "b.png").write_text("old b")
    monkeypatch.setattr(atomic.os, "fsync", FullDisk(at=2))
    with pytest.raises(InputError, match=r"b\.png: cannot be written: no space left"):
        write_all({tmp_path / "a.json": b"new a", tmp_path / "b.png": b"new b", tmp_path / "new" / "c": b"c"})
    assert (tmp_path / "a.json").read_text() == "old a"
    assert (tmp_path / "b.png").read_text() == "old b"
    assert names(tmp_path) == ["a.json", "b.png"]


def test_folders_made_for_nothing_go_again(tmp_path, monkeypatch):
    monkeypatch.setattr(atomic.os, "fsync", FullDisk(at=1))
    with pytest.raises(InputError):
        write_text(tmp_path / "x" / "y" / "a.txt", "a")
    assert names(tmp_path) == []


def test_an_interruption_leaves_the_old_file(tmp_path, monkeypatch):
    (tmp_path / "a.txt").write_text("old")

    def stop(handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(atomic.os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_text(tmp_path / "a.txt", "new")
    assert (tmp_path / "a.txt").read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


def test_an_old_file_that_cannot_be_moved_leaves_the_whole_old_set(tmp_path, monkeypatch):
    """As where another program holds a file open that the system then does not let go."""
    for name in ("a.json", "b.png", "past.svg"):
        (tmp_path / name).write_text("old")
    replace = Path.replace

    def held(path, target):
        if path == tmp_path / "b.png":
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path), None, str(target))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(InputError, match=r"b\.png: cannot be written: permission denied"):
        write_all({tmp_path / name: b"new" for name in ("a.json", "b.png", "c.svg")}, [tmp_path / "past.svg"])
    kept = {path.name: path.read_text() for path in tmp_path.iterdir()}
    assert kept == dict.fromkeys(("a.json", "b.png", "past.svg"), "old")


KILLED = """
import json, os, sys
from pathlib import Path
from marker.files.atomic import settle, write_all

top = Path(sys.argv[1])
names, begins, gone = (words.split(",") for words in sys.argv[2:5])
own = ("mine.txt", "sub/mine.txt")
SEEN = ("open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "shutil.rmtree")

def held():
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in sorted(folder.rglob("*")) if path.is_file() and ".part" not in str(path)
    }

def dying(step):
    count = 0
    def hook(event, words):
        nonlocal count
        if event in SEEN and str(folder.parent) in str(words[0]):
            count += 1
            if count == step:
                os._exit(9)
    return hook

for step in range(1, 500):
    folder = top / str(step) / "out"
    for name in own:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("mine")
    for name in begins:
        (folder / name).write_text("old")
    child = os.fork()
    if child == 0:
        sys.addaudithook(dying(step))
        write_all({folder / name: b"new" for name in names}, [folder / name for name in gone])
        os._exit(0)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    before = held()
    settle(folder)
    left = [path.name for path in folder.iterdir() if path.name.endswith(".part")]
    print(json.dumps([status, before, held(), left]))
    if status != 9:
        break
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the moments are chosen in forked processes")
@pytest.mark.parametrize(
    ("new", "old", "gone"),
    [("a,b,fresh/c", "a,b", "x"), ("a", "a", "x"), ("a,b", "b,other", "x"), ("a,b", "b,other,past", "past")],
)
def test_whenever_it_is_killed_no_folder_holds_old_and_new(tmp_path, new, old, gone):
    """Killed before each call to the system in turn, until there is none left to be killed at."""
    ran = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path), new, old, gone],
        capture_output=True,
        text=True,
        check=True,
    )
    lines = [json.loads(line) for line in ran.stdout.splitlines()]
    assert [status for status, *_ in lines] == [9] * (len(lines) - 1) + [0] and len(lines) > 8
    own = {"mine.txt": "mine", "sub/mine.txt": "mine"}
    kept = dict.fromkeys(old.split(","), "old")
    others = {name: "old" for name in kept if name not in [*new.split(","), gone]}
    whole_new = {**own, **others, **dict.fromkeys(new.split(","), "new")}
    for _, before, after, left in lines:
        assert own.items() <= before.items()
        assert len({before[name] for name in [*new.split(","), gone] if name in before}) <= 1, before
        assert after in ({**own, **kept}, whole_new), after
        assert left == []
    assert lines[-1][1] == whole_new


def test_what_is_not_ours_or_still_at_work_is_left_alone(tmp_path):
    (tmp_path / ".marker-0123456789ab.part").mkdir()
    (tmp_path / ".marker-0123456789ab.part" / "letter.txt").write_text("mine")
    (tmp_path / "notes.part").write_text("mine")
    at_work = atomic._Draft(tmp_path)
    at_work.add(Path("a.txt"), b"a")
    write_text(tmp_path / "b.txt", "b")
    assert names(tmp_path) == sorted(
        [".marker-0123456789ab.part", at_work.folder.name, "b.txt", "notes.part"]
    )
    at_work.exchange()
    at_work.close()
    assert names(tmp_path) == [".marker-0123456789ab.part", "a.txt", "b.txt", "notes.part"]


def test_a_device_is_not_replaced_by_a_file():
    null = Path(os.devnull)
    if not null.is_char_device():
        pytest.skip("this system keeps its null device elsewhere")
    with pytest.raises(InputError, match="not an ordinary file"):
        write_text(null, "x")
    assert null.is_char_device()


LIMITED = """
import resource, sys
from pathlib import Path
from marker.errors import InputError
from marker.files.atomic import write_all
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
folder = Path(sys.argv[1])
try:
    write_all({folder / "a.txt": b"new", folder / "b.txt": b"x" * 5000})
except InputError as error:
    print(error)
"""


def test_a_real_failure_of_the_system_to_write(tmp_path):
    pytest.importorskip("resource")
    (tmp_path / "a.txt").write_text("old")
    ran = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert "b.txt: cannot be written: file too large" in ran.stdout
    assert (tmp_path / "a.txt").read_text() == "old"
    assert names(tmp_path) == ["a.txt"]


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anywhere"
)
def test_a_folder_that_is_not_writable(tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o500)
    with pytest.raises(InputError, match="permission denied"):
        write_text(folder / "a.txt", "x")


def test_a_folder_that_refuses_is_told(tmp_path, monkeypatch):
    def refuse(*_args):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(atomic.os, "open", refuse)
    with pytest.raises(
        InputError, match=r"a\.txt: cannot be written: permission denied; nothing was changed"
    ):
        write_text(tmp_path / "a.txt", "x")


def test_a_file_where_a_folder_should_be(tmp_path):
    (tmp_path / "out").write_text("I am a file")
    with pytest.raises(InputError, match="a file where a folder should be"):
        write_text(tmp_path / "out" / "a.txt", "x")
    with pytest.raises(InputError, match="it is a folder"):
        write_text(tmp_path, "x")
    assert (tmp_path / "out").read_text() == "I am a file"
