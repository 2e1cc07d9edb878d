"""Small pictures for uploads in tests."""

from io import BytesIO

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image


def jpeg(*, content: bytes | None = None, colour: str = "#c98f80") -> SimpleUploadedFile:
    """A file called bar.jpg: a real picture, or whatever bytes are given."""
    if content is None:
        file = BytesIO()
        Image.new("RGB", (64, 48), colour).save(file, "JPEG")
        content = file.getvalue()
    return SimpleUploadedFile("bar.jpg", content, "image/jpeg")
