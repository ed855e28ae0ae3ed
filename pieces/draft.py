"""Write the demo patterns: ``python pieces/draft.py [FOLDER]``, by default beside this script."""

from __future__ import annotations

import sys
from pathlib import Path

from drafting import apron, skirt, smock

PATTERNS = {"harbour-smock.toml": smock.text, "market-apron.toml": apron.text, "gored-skirt.toml": skirt.text}


def main(folder: Path) -> None:
    for name, text in PATTERNS.items():
        (folder / name).write_text(text(), encoding="utf-8", newline="\n")
        print(folder / name)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
