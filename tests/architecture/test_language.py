"""A translator needs a .po file and nothing else: every word that is read goes through gettext."""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.db.models import CharField, Model, TextField
from django.template.loader import get_template
from django.urls import reverse
from django.utils import translation

from batches.models import BarMovement, Batch, CureNote, Event
from batches.services.events import log_event
from batches.services.weighing import mix_lye, weigh
from inventory.models import Delivery, Lot, Material, Movement, Supplier
from recipes.models import Mould, Portion, Recipe, Version
from soapshop.core.models import History, User, Workshop
from soapshop.core.services.workshop import known_time_zones
from tests.architecture.pages import PAGES, Cast, make_cast
from tests.architecture.words import has_words, untranslated, words_of_page
from tests.batches.bench import bench

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = ROOT / "templates"
CATALOGUE = ROOT / "soapshop" / "locale" / "en" / "LC_MESSAGES" / "django.po"

# Pages all of whose words are translated.
DONE_PAGES = (
    "batches:add_to_pot",
    "batches:batch",
    "batches:bring_back",
    "batches:colour",
    "batches:cut",
    "batches:drop",
    "batches:events",
    "batches:list",
    "batches:note",
    "batches:plan",
    "batches:pocket",
    "batches:pour",
    "batches:rack",
    "batches:recount",
    "batches:shelf",
    "batches:tags",
    "batches:take",
    "batches:today",
    "batches:turn",
    "batches:undo",
    "batches:unmould",
    "batches:weigh",
    "batches:weigh_in",
    "core:account",
    "core:connect",
    "core:people",
    "core:person_add",
    "core:person_edit",
    "core:settings",
    "inventory:correct",
    "inventory:deliveries",
    "inventory:delivery",
    "inventory:discard",
    "inventory:labels",
    "inventory:ledger",
    "inventory:lot",
    "inventory:lot_edit",
    "inventory:material_add",
    "inventory:receive",
    "inventory:reverse",
    "inventory:stockroom",
    "inventory:supplier_add",
    "inventory:suppliers",
    "recipes:add",
    "recipes:list",
)
# What the workshop itself has written down stays as it is in every language.
WRITTEN_DOWN: tuple[type[Model], ...] = (
    BarMovement,
    Batch,
    CureNote,
    Delivery,
    Event,
    History,
    Lot,
    Material,
    Mould,
    Movement,
    Portion,
    Recipe,
    Supplier,
    User,
    Version,
    Workshop,
)
KEY = str(uuid4())
SHORTEST_NAME = 3  # shorter texts would hide words of ours
PLACES = {place for _, zones in known_time_zones() for _, place in zones}  # named by the zone database


# --- templates ----------------------------------------------------------------------------------------------


def test_no_template_says_anything_that_cannot_be_translated():
    names = [path.relative_to(TEMPLATES).as_posix() for path in sorted(TEMPLATES.rglob("*.html"))]
    found = {name: untranslated((TEMPLATES / name).read_text()) for name in names}

    assert len(found) > 40
    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.parametrize(
    "template",
    [
        "<p>Used up.</p>",
        "<p>{{ lots }} lots</p>",
        "lot{{ lots|pluralize }}",
        '<a aria-label="Take back">{{ name }}</a>',
        '<input placeholder="Find">',
        '{% include "x.html" with title="Stockroom" %}',
        '{{ name|default:"Nobody" }}',
        "{% if done %}Done{% endif %}",
    ],
)
def test_the_search_would_find(template):
    assert untranslated(template)


@pytest.mark.parametrize(
    "template",
    [
        "{{ name }}, {{ code }} % &nbsp;",
        "{% translate 'Used up.' %}",
        "{% blocktranslate %}{{ lots }} lots{% endblocktranslate %}",
        '{% include "x.html" with title=_("Stockroom") class="field-short" unit="mg KOH/g" %}',
        "<code>brew install pango</code>",
        "{% block current %}stock{% endblock %}",
        '{{ theme|default:"auto" }}',
    ],
)
def test_the_search_does_not_mind(template):
    assert untranslated(template) == []


# --- pages in a language of brackets ------------------------------------------------------------------------


@pytest.fixture
def in_brackets(monkeypatch) -> None:
    """A language that puts every message in brackets; what stands outside of them was never translated."""

    def bracketed(message: str) -> str:
        return f"⟦{message}⟧" if message else ""

    for name, chosen in {
        "gettext": lambda message: message,
        "pgettext": lambda context, message: message,
        "ngettext": lambda one, many, count: one if count == 1 else many,
        "npgettext": lambda context, one, many, count: one if count == 1 else many,
    }.items():
        monkeypatch.setattr(
            translation._trans, name, lambda *given, chosen=chosen: bracketed(chosen(*given)), raising=False
        )


@pytest.fixture
def cast(db) -> Cast:
    return make_cast()


def outside(html: str) -> list[str]:
    """The words of a page outside of all brackets, without addresses and the workshop's own words."""
    html, before = re.sub(r"https?://[^<\"]*", "", html), ""
    while html != before:
        html, before = re.sub("⟦[^⟦⟧]*⟧", "", html), html
    names = written_down()
    return [
        piece for piece in words_of_page(html) if piece not in PLACES and has_words(without(names, piece))
    ]


def without(names: list[str], text: str) -> str:
    for name in names:
        text = text.replace(name, "")
    return text


def written_down() -> list[str]:
    """Names, notes and the like in the database, the longest first."""
    texts = {
        text
        for model in WRITTEN_DOWN
        for field in model._meta.get_fields()
        if isinstance(field, CharField | TextField) and not field.choices
        for text in model._default_manager.values_list(field.name, flat=True)
        if isinstance(text, str) and len(text) >= SHORTEST_NAME
    }
    return sorted(texts, key=len, reverse=True)


@pytest.mark.usefixtures("in_brackets")
def test_no_word_on_a_page_escapes_translation(cast, client_of):
    client = client_of(cast.owner)
    found = {name: outside(client.get(PAGES[name].address(name, cast)).text) for name in DONE_PAGES}

    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.usefixtures("in_brackets")
@pytest.mark.parametrize("name", ["core:sign_in", "core:connect", "core:offline"])
def test_nor_on_a_page_for_those_who_are_not_signed_in(name, cast, client):
    assert outside(client.get(reverse(name)).text) == []


@pytest.mark.usefixtures("in_brackets")
@pytest.mark.parametrize("name", ["400.html", "500.html"])
def test_nor_where_something_broke(name, db):
    assert outside(get_template(name).render()) == []


@pytest.mark.usefixtures("in_brackets")
def test_nor_beside_the_fields_of_a_form_with_slips_in_it(cast, client_of):
    address = reverse("inventory:correct", args=[cast.lot.pk])
    for typed in ("", "-5", "5 furlongs", "5 ml", "1,268", "five", "9" * 30, "9" * 70):
        answer = client_of(cast.owner).post(address, {"counted": typed, "reason": ""})

        assert (answer.status_code, outside(answer.text)) == (422, []), typed


@pytest.mark.usefixtures("in_brackets")
@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("core:account", {"current": "wrong", "password": "one", "password_again": "other"}),
        ("core:person_add", {"username": "Not a name", "role": "king"}),
        ("core:person_add", {"username": "new", "role": "maker", "password": "1", "password_again": "1"}),
        ("core:person_edit", {"name": "x" * 99, "role": "king"}),
        ("core:settings", {}),
        ("core:settings", {"currency": "€", "watch_from": "20", "stop_from": "3", "scale_step": "1000"}),
        ("core:settings", {"scale_step": "1", "fine_scale_step": "2", "time_zone": "Nowhere"}),
    ],
)
def test_nor_beside_the_fields_of_the_workshop(cast, client_of, name, typed):
    answer = client_of(cast.owner).post(PAGES[name].address(name, cast), typed)

    assert (answer.status_code, outside(answer.text)) == (422, [])


@pytest.mark.usefixtures("in_brackets")
@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("batches:plan", {"size": "bars", "amount": "none", "planned_for": "1901-01-01", "code": "a b"}),
        ("batches:plan", {"size": "fats", "amount": "9" * 30, "planned_for": "soon"}),
        ("batches:cut", {"bars": "0", "on": "1901-01-01", "trimmings": "-1"}),
        ("batches:cut", {"bars": "12", "on": "2999-01-01", "trimmings": "900 kg", "key": KEY}),
        ("batches:weigh_in", {"grams": "900 kg", "bars": "1999", "on": "today"}),
        ("batches:note", {}),
        ("batches:take", {"count": "1999", "kind": "sold", "key": KEY}),
        ("batches:take", {"count": "many", "kind": "lent"}),
        ("batches:recount", {"counted": "9999"}),
        ("batches:turn", {}),
        ("batches:drop", {}),
        ("batches:events", {"kind": "lye_temperature", "celsius": "400", "key": KEY}),
        ("batches:events", {"kind": "lye_temperature", "celsius": "hot"}),
        ("batches:events", {"kind": "note", "key": KEY}),
        ("batches:add_to_pot", {"quantity": "5 furlongs"}),
    ],
)
def test_nor_beside_the_fields_of_a_batch(cast, client_of, name, typed):
    answer = client_of(cast.owner).post(PAGES[name].address(name, cast), typed)

    assert (answer.status_code, outside(answer.text)) == (422, [])


@pytest.mark.usefixtures("in_brackets")
def test_nor_on_the_way_of_a_pour(db, client_of):
    shop = bench()
    batch, client = shop.plan(), client_of(shop.maker)
    planned = client.get(reverse("batches:confirm", args=[batch.pk]), {"as_planned": "on"})
    for line in batch.lines.all():
        if line.before_the_lye:
            lot = shop.lots[line.material.name]
            weigh(line=line, lot=lot, quantity=line.planned, key=uuid4(), by=shop.maker)
    lye = client.get(reverse("batches:lye", args=[batch.pk]))
    mix_lye(batch=batch, by=shop.maker)
    log_event(batch=batch, kind=Event.Kind.LIGHT_TRACE, key=uuid4(), by=shop.maker)
    log_event(batch=batch, kind=Event.Kind.ROOM_TEMPERATURE, celsius=Decimal(21), key=uuid4(), by=shop.maker)
    pages = [
        planned,
        lye,
        *(client.get(reverse(f"batches:{name}", args=[batch.pk])) for name in ("weigh", "events")),
    ]

    assert [(page.status_code, outside(page.text)) for page in pages] == [(200, [])] * len(pages)


@pytest.mark.usefixtures("in_brackets")
def test_the_brackets_would_show_a_word_outside_of_them(db):
    assert outside("<p>⟦Used <b>up</b>.⟧ by hand <b>⟦⟦12⟧ May⟧</b></p>") == ["by hand"]


# --- the language files -------------------------------------------------------------------------------------


def messages_of(catalogue: Path) -> set[str]:
    """The entries of a language file, each without its comments."""
    entries = catalogue.read_text(encoding="utf-8").split("\n\n")[1:]
    return {"\n".join(line for line in entry.splitlines() if not line.startswith("#")) for entry in entries}


@pytest.mark.skipif(
    not shutil.which("xgettext") and not os.environ.get("CI"), reason="GNU gettext is not installed"
)
def test_the_language_file_holds_the_messages_of_today(tmp_path):
    for part in ("soapshop", "shared", "inventory", "recipes", "batches", "templates"):
        shutil.copytree(ROOT / part, tmp_path / part, ignore=shutil.ignore_patterns("static", "__pycache__"))
    subprocess.run(
        [sys.executable, "-m", "django", "makemessages", "--locale", "en", "--verbosity", "0"],
        cwd=tmp_path,
        env=os.environ
        | {"DJANGO_SETTINGS_MODULE": "soapshop.settings", "SOAPSHOP_DATA": str(tmp_path / "d")},
        check=True,
    )

    fresh = messages_of(tmp_path / CATALOGUE.relative_to(ROOT))
    kept = messages_of(CATALOGUE)
    assert len(kept) > 300
    assert (fresh - kept, kept - fresh) == (set(), set()), "Run: python3 manage.py makemessages -l en"


def test_english_says_what_its_source_says():
    """Django brings an English catalogue of its own, which must not put other words in our mouth."""
    lines = re.findall(r'^msgid ((?:".*"\n?)+)', CATALOGUE.read_text(encoding="utf-8"), re.MULTILINE)
    messages = ["".join(ast.literal_eval(part) for part in line.splitlines()) for line in lines]

    with translation.override(settings.LANGUAGE_CODE):
        assert [each for each in messages if each and translation.gettext(each) != each] == []


def test_a_page_says_in_which_language_it_is(client, workshop, owner):
    html = client.get(reverse("core:sign_in"), headers={"accept-language": "de-AT,de;q=0.9"})

    assert '<html lang="en-gb"' in html.text
    assert html["Content-Language"] == "en-gb"
