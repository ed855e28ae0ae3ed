"""Photographs of paper pieces to outlines: target sheet, camera geometry, outline, smoothing, proof.

Everything that needs OpenCV is here and imported late; ``opencv()`` says in one sentence if it is missing.
"""

from __future__ import annotations

from typing import Any

from marker.errors import InputError


def opencv() -> Any:
    """The cv2 module. Raises InputError if it is not installed."""
    try:
        import cv2
    except ImportError:
        raise InputError(
            "Tracing photographs needs OpenCV, which is not installed; install it with "
            "pip install 'boathouse-marker[trace]'."
        ) from None
    return cv2
