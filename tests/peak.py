"""The most memory that a process has held."""

import resource
import sys
from pathlib import Path


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
