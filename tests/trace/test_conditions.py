"""Harsher photographs, one condition at a time and all of them together, on a wooden and on a tiled floor.

``python -m tests.trace.test_conditions`` prints the table. Rendered: paper that lies flat and a lens that is
radial, so what real paper adds by lifting off the floor is not in it.
"""

import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from marker.errors import InputError
from tests.trace.measure import Found, measure
from tests.trace.scenes import Camera, Scene, Sheet, bodice

FLOORS = ("wood", "tiles")


def _lens(scene: Scene) -> Scene:
    return replace(scene, camera=replace(scene.camera, k1=-0.08, k2=0.02))


def _same(scene: Scene) -> Scene:
    return scene


def _white(scene: Scene) -> Scene:
    return replace(scene, white=0.3)


def _creases(scene: Scene) -> Scene:
    return replace(scene, creases=0.12)


def _deep_creases(scene: Scene) -> Scene:
    return replace(scene, creases=0.35)


def _shadow(scene: Scene) -> Scene:
    return replace(scene, shadow=0.5)


def _together(scene: Scene) -> Scene:
    return _shadow(_creases(_white(_lens(scene))))


def _one_sheet(scene: Scene) -> Scene:
    return replace(_together(scene), sheets=scene.sheets[:1])


def _rough(scene: Scene) -> Scene:
    return replace(_together(scene), blur=2.0, noise=8.0)


CONDITIONS: dict[str, tuple[Callable[[Scene], Scene], int]] = {
    "none": (_same, 90),
    "bent lens": (_lens, 90),
    "white balance": (_white, 90),
    "JPEG quality 60": (_same, 60),
    "creases": (_creases, 90),
    "deep creases": (_deep_creases, 90),
    "shadow": (_shadow, 90),
    "all together": (_together, 60),
    "all, one sheet": (_one_sheet, 60),
}
"""What is done to the scene, and the quality it is saved in."""


def scene_on(floor: str) -> Scene:
    return Scene(
        (bodice(310, 120, angle=-3),),
        ((Sheet("a4", 1), 60, 150, 5), (Sheet("a4", 2), 640, 180, -6)),
        floor=floor,
        camera=Camera(1600, 1200, k1=-0.02, tilt=(9, -7)),
        seed=31,
    )


def outcome(floor: str, condition: str, path: Path) -> Found:
    change, quality = CONDITIONS[condition]
    (found,) = measure(change(scene_on(floor)), path, quality)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("condition", CONDITIONS)
@pytest.mark.parametrize("floor", FLOORS)
def test_harsher_photographs(floor: str, condition: str, tmp_path: Path) -> None:
    found = outcome(floor, condition, tmp_path / "photo.jpg")
    # Stricter than the promise of 95 in 100 and 0.5 %: the camera looks nearly from above.
    assert found.share >= 0.99
    assert abs(found.area) <= 0.25


@pytest.mark.slow
@pytest.mark.parametrize("floor", (*FLOORS, "light"))
def test_too_much_at_once_is_refused_and_not_traced_wrong(floor: str, tmp_path: Path) -> None:
    """Out of focus and noisy besides: at 1,600 pixels the corners of the sheet are no longer found."""
    with pytest.raises(InputError) as caught:
        measure(_rough(scene_on(floor)), tmp_path / "photo.jpg", 60)
    assert "target not found" in str(caught.value) or "too little contrast" in str(caught.value)


def table() -> None:
    print(f"{'floor':8}{'condition':18}{'within 1.5 mm':>14}{'95 % mm':>9}{'worst mm':>10}{'area %':>8}")
    with tempfile.TemporaryDirectory() as folder:
        for floor in FLOORS:
            for condition in CONDITIONS:
                try:
                    found = outcome(floor, condition, Path(folder) / "photo.jpg")
                except (InputError, AssertionError) as problem:
                    print(f"{floor:8}{condition:18}refused: {problem}", flush=True)
                    continue
                told = f"{100 * found.share:13.1f}%{found.p95:9.2f}{found.worst:10.2f}{found.area:8.2f}"
                print(f"{floor:8}{condition:18}{told}", flush=True)


if __name__ == "__main__":
    sys.exit(table())
