"""Fuzz runs under limits of time and memory, in a process of their own."""

import resource
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

MOST_SECONDS = 10
"""Of the processor, for one file: other work on the machine does not count."""
MOST_MEMORY = 1 << 30
"""Bytes that may be allocated before allocations fail; being refused for that counts as going wrong."""


class Hang(BaseException):
    """Raised in the middle of reading; no exception that a reader may take for a broken file."""


def limit_memory() -> None:
    """Allocations beyond the limit fail; where the system cannot limit them they are not checked."""
    if sys.platform == "linux":
        resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))


def peak_mib() -> int:
    """Mebibytes that this process has held at most.

    Where there is /proc, since the program was started: what getrusage tells counts the process that it was
    started from as well.
    """
    status = Path("/proc/self/status")
    if status.exists():
        told = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
        return int(told["VmHWM"].split()[0]) // 1024
    # Kibibytes, but bytes on macOS.
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most // (1 << 20 if sys.platform == "darwin" else 1024)


def judged(cases: Iterable[int], attempt: Callable[[int, Counter[str]], None]) -> dict[str, object]:
    """What becomes of the cases under the limits, for one line of JSON.

    ``attempt`` reads one case and counts what it comes to. An InputError of one good sentence counts as
    "refused", anything else that escapes goes under "wrong" with its case.
    """
    from marker.errors import InputError

    def hang(signum: int, frame: object) -> None:
        raise Hang(f"more than {MOST_SECONDS} seconds")

    signal.signal(signal.SIGPROF, hang)
    limit_memory()
    counts: Counter[str] = Counter(read=0, refused=0)
    wrong: list[list[object]] = []
    slowest = 0.0
    for case in cases:
        if "-v" in sys.argv:
            print(case, file=sys.stderr)
        begun = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)
        try:
            attempt(case, counts)
        except InputError as error:
            counts["refused"] += 1
            words = str(error)
            if "\n" in words or not words.endswith(".") or len(words) > 600 or "memory" in words.lower():
                wrong.append([case, f"no sentence: {words[:300]}"])
        except BaseException as error:
            wrong.append([case, repr(error)[:300]])
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
        slowest = max(slowest, time.process_time() - begun)
    return {**counts, "slowest": slowest, "peak": peak_mib(), "wrong": wrong}
