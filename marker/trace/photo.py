"""Reading a photograph: upright, not too large, with what the camera noted about itself."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from marker.errors import InputError

Picture = npt.NDArray[np.uint8]

MOST_PIXELS = 64_000_000
"""Pixels of a photograph that is opened at all."""
LARGEST_FILE = 100_000_000
WORKING_SIDE = 4000
"""Pixels of the longer side that the outline is looked for in; larger photographs are reduced to it."""
SMALLEST_SIDE = 600
STRIP = 256
"""Rows of the working picture that are made at a time."""


@dataclass(frozen=True)
class Photo:
    """A photograph, upright. ``pixels`` has shape (height, width, 3), sRGB. Photographs of one ``camera``
    (model, focal length, size) share a lens."""

    path: str
    pixels: Picture
    camera: tuple[str, ...]
    reduced: float
    """Pixels of the file for one of ``pixels``."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height."""
        return self.pixels.shape[1], self.pixels.shape[0]


def read_photo(path: str | Path) -> Photo:
    """The photograph in a JPEG, PNG or WebP file, turned as its EXIF says.

    Raises InputError naming the file if it is missing, no picture, damaged, too large or too small.
    """
    from PIL import Image, UnidentifiedImageError

    file = Path(path)
    try:
        if file.is_dir():
            raise InputError(f"{path}: this is a folder; name a photograph in it.")
        if file.stat().st_size > LARGEST_FILE:
            raise InputError(
                f"{path}: is larger than {LARGEST_FILE // 1_000_000} MB; save it smaller, as JPEG."
            )
        with warnings.catch_warnings():
            # Pillow's own limit only warns; ours refuses, before a pixel is unpacked. Of damaged notes it
            # warns on opening already.
            warnings.simplefilter("ignore")
            with Image.open(file, formats=("JPEG", "PNG", "WEBP")) as image:
                width, height = image.size
                if width * height > MOST_PIXELS:
                    raise _too_many(path)
                camera = _camera(image)
                larger = max(image.size)
                scale = min(1.0, WORKING_SIDE / larger)
                size = max(1, round(width * scale)), max(1, round(height * scale))
                if min(size) < SMALLEST_SIDE:
                    raise InputError(
                        f"{path}: has only {width} x {height} pixels; "
                        "use the photograph as the camera saved it, not a reduced copy."
                    )
                image.draft("RGB", size)
                turn = _turn(image)
                image.load()
                pixels = np.ascontiguousarray(_turned(_working(image, size), turn))
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; check the name and the folder.") from None
    except Image.DecompressionBombError:
        raise _too_many(path) from None
    except MemoryError:
        # Not the file's fault, as far as can be told.
        raise InputError(f"{path}: takes more memory than there is; save it smaller.") from None
    except UnidentifiedImageError:
        raise InputError(
            f"{path}: is no JPEG, PNG or WebP picture; save the photograph as JPEG and try again."
        ) from None
    except Exception as error:
        # Pillow raises nearly anything for damaged files, from struct.error to SyntaxError.
        reason = getattr(error, "strerror", None)
        what = f"cannot be read ({reason.lower()})" if reason else "is damaged and cannot be opened"
        raise InputError(f"{path}: {what}; copy it from the camera once more.") from None
    return Photo(str(path), pixels, camera, larger / max(size))


def _too_many(path: str | Path) -> InputError:
    return InputError(f"{path}: has more than {MOST_PIXELS // 1_000_000} million pixels; save it smaller.")


def _working(image: Any, size: tuple[int, int]) -> Picture:
    """The picture in that size as RGB, what is transparent shown on white.

    It goes strip by strip, so that a large picture of a rare kind never exists as a whole in several.
    """
    from PIL import Image

    width, height = size
    # Pillow would clip 16-bit grey and not scale it.
    deep = image.mode.startswith(("I", "F"))
    brightest = max(float(image.getextrema()[1]), 1.0) if deep else 1.0
    pixels = np.empty((height, width, 3), np.uint8)
    step = image.height / height
    for top in range(0, height, STRIP):
        bottom = min(top + STRIP, height)
        begin, end = top * step, min(bottom * step, float(image.height))
        rows = int(begin), min(math.ceil(end - 1e-9), image.height)
        strip = image.crop((0, rows[0], image.width, rows[1]))
        if deep:
            strip = Image.fromarray((np.asarray(strip, np.float32) * (255.0 / brightest)).astype(np.uint8))
        if strip.mode != "RGB":
            strip = strip.convert("RGBA")
            strip = Image.alpha_composite(Image.new("RGBA", strip.size, "white"), strip).convert("RGB")
        if strip.size != (width, bottom - top):
            box = 0, begin - rows[0], image.width, end - rows[0]
            strip = strip.resize((width, bottom - top), Image.Resampling.BOX, box=box)
        pixels[top:bottom] = np.asarray(strip)
    return pixels


def _turn(image: Any) -> int:
    """How the picture is to be turned to be upright: EXIF 2.3, tag Orientation, 1 to 8."""
    try:
        noted = image.getexif().get(0x0112)
    except Exception:
        # Damaged notes do not make a damaged picture.
        return 1
    return noted if noted in range(1, 9) else 1


def _turned(pixels: Picture, turn: int) -> Picture:
    """The picture upright, by what its rows and columns are said to be (EXIF 2.3, tag Orientation)."""
    if turn >= 5:
        pixels = pixels.transpose(1, 0, 2)
    if turn in (3, 4, 7, 8):
        pixels = pixels[::-1]
    if turn in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    return pixels


def _camera(image: Any) -> tuple[str, ...]:
    """What tells one lens from another: maker, model, lens, focal length, and the sides of the picture."""
    sides = tuple(str(side) for side in sorted(image.size))
    try:
        exif = image.getexif()
        inner = exif.get_ifd(0x8769)
        noted = [exif.get(0x010F), exif.get(0x0110), inner.get(0xA434), inner.get(0x920A), inner.get(0xA405)]
        return (*(str(value) for value in noted), *sides)
    except Exception:
        # Damaged notes do not make a damaged picture.
        return ("unknown", *sides)
