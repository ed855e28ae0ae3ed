"""Reading a photograph: upright, not too large, with what the camera noted about itself."""

from __future__ import annotations

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
    from PIL import Image, ImageOps, UnidentifiedImageError

    file = Path(path)
    try:
        if file.is_dir():
            raise InputError(f"{path}: this is a folder; name a photograph in it.")
        if file.stat().st_size > LARGEST_FILE:
            raise InputError(
                f"{path}: is larger than {LARGEST_FILE // 1_000_000} MB; save it smaller, as JPEG."
            )
        with warnings.catch_warnings(), Image.open(file, formats=("JPEG", "PNG", "WEBP")) as image:
            # Its own limit only warns; ours refuses, before a pixel is unpacked.
            warnings.simplefilter("ignore")
            width, height = image.size
            if width * height > MOST_PIXELS:
                raise _too_many(path)
            camera = _camera(image)
            larger = max(image.size)
            if larger > WORKING_SIDE:
                image.draft("RGB", (width * WORKING_SIDE // larger, height * WORKING_SIDE // larger))
            image.load()
            upright = ImageOps.exif_transpose(image.convert("RGB") if image.mode == "RGB" else _flat(image))
            factor = larger / max(upright.size)
            if max(upright.size) > WORKING_SIDE:
                factor = larger / WORKING_SIDE
                scale = WORKING_SIDE / max(upright.size)
                upright = upright.resize(
                    (round(upright.width * scale), round(upright.height * scale)),
                    Image.Resampling.BOX,
                    reducing_gap=2.0,
                )
            pixels = np.asarray(upright, dtype=np.uint8)
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; check the name and the folder.") from None
    except Image.DecompressionBombError:
        raise _too_many(path) from None
    except UnidentifiedImageError:
        raise InputError(
            f"{path}: is no JPEG, PNG or WebP picture; save the photograph as JPEG and try again."
        ) from None
    except Exception as error:
        # Pillow raises nearly anything for damaged files, from struct.error to SyntaxError.
        reason = getattr(error, "strerror", None)
        what = f"cannot be read ({reason.lower()})" if reason else "is damaged and cannot be opened"
        raise InputError(f"{path}: {what}; copy it from the camera once more.") from None
    if min(pixels.shape[:2]) < SMALLEST_SIDE:
        raise InputError(
            f"{path}: has only {pixels.shape[1]} x {pixels.shape[0]} pixels; "
            "use the photograph as the camera saved it, not a reduced copy."
        )
    return Photo(str(path), pixels, camera, factor)


def _too_many(path: str | Path) -> InputError:
    return InputError(f"{path}: has more than {MOST_PIXELS // 1_000_000} million pixels; save it smaller.")


def _flat(image: Any) -> Any:
    """An RGB picture from any mode, what is transparent shown on white; EXIF kept."""
    from PIL import Image

    exif = image.getexif()
    if image.mode.startswith(("I", "F")):
        # 16-bit grey: Pillow would clip and not scale.
        values = np.asarray(image, dtype=float)
        image = Image.fromarray((255.0 * values / max(float(values.max()), 1.0)).astype(np.uint8))
    rgba = image.convert("RGBA")
    white = Image.new("RGBA", rgba.size, "white")
    flat = Image.alpha_composite(white, rgba).convert("RGB")
    flat.getexif().update(exif)
    return flat


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
