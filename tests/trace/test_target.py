"""The printed sheets measure what they say, tell which they are, and are not mirrored."""

import cv2
import numpy as np
import pypdfium2
import pytest

from marker.errors import InputError
from marker.trace.target import BOARD, PAPERS, SQUARE, TOP, all_sheets, black_boxes, target_pdf


@pytest.fixture(scope="module")
def documents():
    return {paper: target_pdf(paper, 2) for paper in PAPERS}


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_the_size_of_the_paper(documents, paper):
    # ISO 216: A4 is 210 mm x 297 mm. US Letter is 8 1/2 in x 11 in.
    true = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}[paper]
    document = pypdfium2.PdfDocument(documents[paper])
    assert len(document) == 2
    for page in document:
        assert np.array(page.get_size()) * 25.4 / 72 == pytest.approx(true, abs=0.01)


@pytest.mark.parametrize("paper", PAPERS)
def test_board_and_rulers_measure_what_they_say(documents, paper):
    """Measured on the page as PDFium renders it, at 20 pixels a millimetre."""
    page = pypdfium2.PdfDocument(documents[paper])[0]
    pixels = page.render(scale=20 * 25.4 / 72, grayscale=True).to_numpy()
    black = pixels.reshape(pixels.shape[:2]) < 128
    left = (PAPERS[paper][0] - BOARD[0]) / 2
    across = np.flatnonzero(black[round((TOP + SQUARE / 2) * 20)])
    down = np.flatnonzero(black[: round((TOP + BOARD[1] + 2) * 20), round((left + SQUARE / 2) * 20)])
    assert across[0] / 20 == pytest.approx(left, abs=0.06)
    assert (down[0] / 20, down[-1] / 20) == pytest.approx((TOP, TOP + BOARD[1] - 4.0), abs=0.06)
    for below, length in ((5.0, 100.0), (13.5, 101.6)):
        # Just below its line the ruler is only ticks: the first and the last are its ends.
        row = black[round((TOP + BOARD[1] + below + 0.8) * 20), : round((left + length + 0.8) * 20)]
        ticks = np.flatnonzero(row)
        assert (ticks[-1] - ticks[0]) / 20 == pytest.approx(length, abs=0.15)


def test_text_says_how_to_print(documents):
    for paper, name in (("a4", "A4"), ("letter", "Letter")):
        text = pypdfium2.PdfDocument(documents[paper])[1].get_textpage().get_text_bounded()
        assert f"Target sheet 2 of 2 ({name})" in text
        assert "100 %" in text
        assert "180 mm" in text


def test_it_is_vector_graphics(documents):
    page = pypdfium2.PdfDocument(documents["a4"])[0]
    kinds = [thing.type for thing in page.get_objects()]
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE not in kinds
    assert kinds.count(pypdfium2.raw.FPDF_PAGEOBJ_PATH) >= len(black_boxes(all_sheets()[0]))


def test_no_two_sheets_share_a_marker():
    numbers = [number for sheet in all_sheets() for number in sheet.ids]
    assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize("paper", PAPERS)
def test_opencv_reads_the_rendered_page_as_the_board_it_builds_itself(documents, paper):
    page = pypdfium2.PdfDocument(documents[paper])[1]
    pixels = page.render(scale=5 * 25.4 / 72, grayscale=True).to_numpy()
    grey = np.ascontiguousarray(pixels.reshape(pixels.shape[:2]))
    first = 24 * (4 * list(PAPERS).index(paper) + 1)
    own = cv2.aruco.CharucoBoard(
        (6, 8),
        30.0,
        22.0,
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250),
        np.arange(first, first + 24),
    )
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(own).detectBoard(grey)
    assert numbers is not None and len(numbers) == 35
    there = own.getChessboardCorners()[numbers.ravel(), :2] + [(PAPERS[paper][0] - BOARD[0]) / 2, TOP]
    assert np.abs(corners.reshape(-1, 2) / 5 - there).max() < 0.25


def test_more_sheets_than_there_are():
    with pytest.raises(InputError, match="sheets 1 to 4"):
        target_pdf("a4", 5)
