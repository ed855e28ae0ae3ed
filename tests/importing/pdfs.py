"""Small PDF files written by hand, from the syntax of ISO 32000."""

from __future__ import annotations

import zlib

MM = 72 / 25.4
"""Points in a millimetre."""


def pdf(
    content: str,
    width: float = 350,
    height: float = 700,
    pages: int = 1,
    extra: str = "",
    plain: bool = False,
) -> bytes:
    """A PDF of ``width`` by ``height`` millimetres that draws ``content``, in millimetres with y upwards.

    ``extra`` goes into the page's dictionary; the content is compressed, as usual, but not ``plain``.
    """
    drawn = f"q {MM:.8f} 0 0 {MM:.8f} 0 0 cm {content} Q".encode()
    stream = drawn if plain else zlib.compress(drawn)
    packed = b"" if plain else b"/Filter /FlateDecode "
    kids = " ".join(["3 0 R"] * pages)
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {pages} >>".encode(),
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width * MM:.6f} {height * MM:.6f}] {extra} "
        "/Contents 4 0 R /Resources << /Font << /F 5 0 R >> /XObject << /X 6 0 R >> >> >>".encode(),
        b"<< /Length %d %s>>\nstream\n%s\nendstream" % (len(stream), packed, stream),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
        b"<< /Type /XObject /Subtype /Form /BBox [0 0 9999 9999] /Matrix [0 1 -1 0 100 0] /Length 45 >>\n"
        b"stream\n0 0 m 60 0 l 60 40 l 0 40 l h S              \nendstream",
    ]
    return assembled(objects)


def assembled(objects: list[bytes], trailer: str = "") -> bytes:
    """The file of these objects, numbered from 1; the first is the catalog."""
    out = b"%PDF-1.7\n"
    at = []
    for i, body in enumerate(objects, 1):
        at.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (i, body)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in at)
    size = len(objects) + 1
    return out + f"trailer << /Size {size} /Root 1 0 R {trailer} >>\nstartxref\n{start}\n%%EOF\n".encode()


def words(x: float, y: float, text: str, size: float = 6) -> str:
    return f" BT /F {size} Tf {x} {y} Td ({text}) Tj ET"
