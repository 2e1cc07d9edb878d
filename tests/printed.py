"""Printed pages as a phone's camera sees them: rendered to pictures, their codes read."""

from __future__ import annotations

import subprocess
from io import BytesIO
from pathlib import Path

import zxingcpp
from PIL import Image
from pypdf import PdfReader

DOTS_PER_INCH = 150  # of a phone held over a sheet, and coarser than any printer


def pictures(pdf: bytes, folder: Path) -> list[Image.Image]:
    """Each page of a PDF as poppler draws it."""
    (folder / "printed.pdf").write_bytes(pdf)
    command = ["pdftoppm", "-r", str(DOTS_PER_INCH), "-png", folder / "printed.pdf", folder / "page"]
    subprocess.run(command, check=True, capture_output=True)
    return [Image.open(path).convert("RGB") for path in sorted(folder.glob("page-*.png"))]


def codes(pdf: bytes, folder: Path) -> list[str]:
    """What the QR codes of all pages say, in no certain order."""
    found = [code for page in pictures(pdf, folder) for code in zxingcpp.read_barcodes(page)]
    assert {code.format for code in found} <= {zxingcpp.BarcodeFormat.QRCode}
    return [code.text for code in found]


def read(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in read(pdf).pages)
