from pathlib import Path

import pytest

from marker.tables.source import Source, open_source
from tests.tables.sewn import PANELS, PATTERN


@pytest.fixture
def pennants(tmp_path: Path) -> Source:
    file = tmp_path / "pennants.toml"
    file.write_text(PATTERN)
    return open_source(file)


@pytest.fixture
def panels(tmp_path: Path) -> Source:
    file = tmp_path / "panels.toml"
    file.write_text(PANELS)
    return open_source(file)
