"""Forms of what recipes carry beside the making: their tags, and files with recipes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import Material
from recipes.exchange import document
from recipes.exchange.simple_table import beginning
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
    """A file of recipes to look at, or a table for a new recipe to begin with."""

    file = forms.FileField(
        label=_("File"),
        widget=forms.FileInput(attrs={"accept": ".json,.csv,application/json,text/csv"}),
        allow_empty_file=True,
        error_messages={"required": _("Choose a file.")},
        help_text=_(
            "A file of recipes that was taken out of this program; or a table (CSV) with the columns "
            "material, amount and unit, for a new recipe to begin with. At most 2 MB."
        ),
    )

    def __init__(self, *args: Any, materials: Iterable[Material] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.materials = materials
        self.beginning = ""

    def clean_file(self) -> UploadedFile[Any]:
        upload: UploadedFile[Any] = self.cleaned_data["file"]
        content = upload.read(document.MOST_BYTES + 1)
        with _beside_the_field():
            if str(upload.name).lower().endswith(".csv"):
                self.beginning = beginning(content, self.materials)
            else:
                self.found, self.packed = document.read(content), document.packed(content)
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
        with _beside_the_field():
            self.found = document.read(document.unpacked(packed))
        return packed


@contextmanager
def _beside_the_field() -> Iterator[None]:
    """What is wrong with a file is said beside its field."""
    try:
        yield
    except document.BadFile as error:
        raise ValidationError(list(error.problems)) from error
