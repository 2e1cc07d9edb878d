"""Pictures made for tests: nobody's photos, and every way in which a picture can be bad."""

from __future__ import annotations

from io import BytesIO

import pillow_heif
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image, PngImagePlugin

VIENNA = {1: "N", 2: (48.0, 12.0, 0.0), 3: "E", 4: (16.0, 22.0, 0.0)}


def picture(size: tuple[int, int] = (64, 48)) -> Image.Image:
    """Left half red, right half blue, so that one sees which way is up."""
    image = Image.new("RGB", size, (200, 30, 30))
    image.paste((30, 30, 200), (size[0] // 2, 0, *size))
    return image


def exif(
    taken: str | None = None, offset: str | None = None, orientation: int = 1, gps: bool = True
) -> Image.Exif:
    data = Image.Exif()
    data[ExifTags.Base.Orientation] = orientation
    data[ExifTags.Base.Make] = "Invented Cameras"
    details = data.get_ifd(ExifTags.IFD.Exif)
    if taken is not None:
        details[ExifTags.Base.DateTimeOriginal] = taken
    if offset is not None:
        details[ExifTags.Base.OffsetTimeOriginal] = offset
    if gps:
        data.get_ifd(ExifTags.IFD.GPSInfo).update(VIENNA)
    return data


def encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    file = BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def jpeg(size: tuple[int, int] = (64, 48), **options: object) -> bytes:
    return encoded(picture(size), "JPEG", **options)


def heic(size: tuple[int, int] = (64, 48)) -> bytes:
    """As phones take them."""
    file = BytesIO()
    pillow_heif.from_pillow(picture(size)).save(file)
    return file.getvalue()


def bomb(width: int = 30_000, height: int = 30_000) -> bytes:
    """A PNG of a few bytes that claims to hold 900 million pixels."""
    file = BytesIO()
    file.write(b"\x89PNG\r\n\x1a\n")
    PngImagePlugin.putchunk(
        file, b"IHDR", PngImagePlugin.o32(width), PngImagePlugin.o32(height), b"\x08\x02\0\0\0"
    )
    PngImagePlugin.putchunk(file, b"IDAT", b"x\x9c\x03\0\0\0\0\x01")
    PngImagePlugin.putchunk(file, b"IEND", b"")
    return file.getvalue()


def pdf(text: str = "Invented certificate") -> bytes:
    """The smallest file that looks like a PDF from both ends."""
    return b"%PDF-1.7\n% " + text.encode() + b"\n%%EOF\n"


def upload(
    content: bytes, name: str = "IMG_0001.jpg", content_type: str = "image/jpeg"
) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type)
