"""Forms of what recipes carry beside the making: their tags, and files with recipes."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext, gettext_lazy as _

from recipes.exchange import document
from soapshop.core.fields import PlainTextField

LONGEST_FILE_NAME = 60
LONGEST_PACKED = 2_400_000


class TagsForm(forms.Form):
    """Words with commas between them."""

    tags = PlainTextField(
        label=_("Tags"),
        max_length=500,
        required=False,
        help_text=_("Words with commas between them, such as winter, market, unscented."),
    )

    def clean_tags(self) -> list[str]:
        typed: str = self.cleaned_data["tags"]
        return typed.split(",")


class FileForm(forms.Form):
    """A file of recipes to look at."""

    file = forms.FileField(
        label=_("File"),
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
        allow_empty_file=True,
        error_messages={"required": _("Choose a file.")},
        help_text=_("A file of recipes that was taken out of this program, at most 2 MB."),
    )

    def clean_file(self) -> UploadedFile[Any]:
        upload: UploadedFile[Any] = self.cleaned_data["file"]
        content = upload.read(document.MOST_BYTES + 1)
        self.found, self.packed = _read(content), document.packed(content)
        return upload

    @property
    def file_name(self) -> str:
        """As a page may show it and a source may name it."""
        name = "".join(one for one in str(self.cleaned_data["file"].name) if one.isprintable())
        return name[:LONGEST_FILE_NAME] or gettext("without a name")


class KeepForm(forms.Form):
    """A file that was looked at, on its way back, with the recipes of it that are wanted."""

    packed = forms.CharField(widget=forms.HiddenInput, max_length=LONGEST_PACKED)
    file_name = forms.CharField(widget=forms.HiddenInput, max_length=LONGEST_FILE_NAME)

    def clean_packed(self) -> str:
        packed: str = self.cleaned_data["packed"]
        try:
            content = document.unpacked(packed)
        except document.BadFile as error:
            raise ValidationError(list(error.problems)) from error
        self.found = _read(content)
        return packed


def _read(content: bytes) -> dict[str, Any]:
    try:
        return document.read(content)
    except document.BadFile as error:
        raise ValidationError(list(error.problems)) from error
