"""A deed is read strictly: what a broken or hostile phone sends is answered in words and books nothing."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from batches.models import Deed, Event, Weighing
from tests.bad_input import EMOJI, NO_POSITIVE_NUMBERS, NUL, SCRIPT, STRANGE_TEXTS, TOO_LONG
from tests.batches.bench import bench
from tests.batches.phone import Phone
from tests.core.pictures import bomb, upload

pytestmark = pytest.mark.django_db

NO_IDS = [None, "", 0, -1, 1.5, True, "one", "1_0", NUL, TOO_LONG, 2**63, 10**400, [1], {"id": 1}]
NO_KEYS = [None, "", "1", 7, True, NUL, TOO_LONG, SCRIPT, ["a"], {}]
NO_TIMES = [
    None,
    "",
    0,
    1764081000,
    "yesterday",
    "2026-11-25",
    "2026-11-25T10:00:00",
    "2026-13-40T10:00:00Z",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00",
    "2026-11-25T10:00:00+99:00",
    NUL,
    TOO_LONG,
    [],
]
NO_WEIGHTS = [*NO_POSITIVE_NUMBERS, "0", 0, -5, 1e300, None, [450], {"g": 450}, "2000000"]
NO_WORDS = [NUL, TOO_LONG, "\ud83e", ["a"], {"a": "b"}]


@pytest.fixture
def phone():
    shop = bench()
    return Phone(shop.plan(), shop.maker)


def refused(phone, deeds):
    """What was taken in though it should have been refused in words."""
    answers = [(deed, phone.send(deed)) for deed in deeds]
    wrong = [
        (deed, answer)
        for deed, answer in answers
        if (answer.status, answer.result) != (422, "refused") or not answer.data["words"]
    ]
    assert not Deed.objects.exists()
    return wrong


def weighing(phone, **changed):
    deed = phone.weigh(
        "Olive oil", 450, phone.batch.lines.get(material__name="Olive oil").material.lots.get()
    )
    return {**deed, "content": {**deed["content"], **changed}}


def test_the_deed_that_is_spoilt_below_is_sound(phone):
    assert phone.send(weighing(phone)).result == "done"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "deed",
        "null",
        "7",
        '"weigh"',
        "[]",
        "{}",
        "[" * 15_000,
        '{"a":' * 3_000,
        "9" * 19_000,
        '{"key": NaN}',
        '{"key": Infinity}',
        '{"key": "\\ud83e"}',
        NUL,
        EMOJI,
        SCRIPT,
        "x" * 30_000,
    ],
    ids=lambda text: text[:12].replace("\0", "NUL") or "empty",
)
def test_what_is_no_deed_is_refused(phone, text):
    answer = phone.send_text(text)

    assert (answer.status, answer.result) == (422, "refused")
    assert answer.data["words"]
    assert not Deed.objects.exists()


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("key", NO_KEYS),
        ("kind", [None, "", "steal", "WEIGH", 1, NUL, ["weigh"], {}]),
        ("at", NO_TIMES),
        ("by", NO_IDS),
        ("aside", ["yes", "true", 1.5, [], {"a": 1}, NUL]),
        ("content", [None, "", 7, [], "line", [{"line": 1}]]),
    ],
)
def test_what_every_deed_has_is_read_strictly(phone, name, values):
    assert refused(phone, [{**weighing(phone), name: value} for value in values]) == []


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("line", NO_IDS),
        ("lot", NO_IDS),
        ("quantity", NO_WEIGHTS),
        ("more_to_come", ["no", "false", 7, [], {}]),
        ("part_of", NO_KEYS[2:]),
    ],
)
def test_a_weight_is_read_strictly(phone, name, values):
    assert refused(phone, [weighing(phone, **{name: value}) for value in values]) == []
    assert not Weighing.objects.exists()


def test_other_deeds_are_read_strictly(phone):
    line, lot = phone.line("Scent"), weighing(phone)["content"]["lot"]
    deeds = [
        *(phone.deed("undo", weighing=key) for key in NO_KEYS),
        *(phone.deed("leave", line=each, done=True) for each in NO_IDS),
        *(phone.deed("leave", line=line, done=each) for each in ["no", 3, []]),
        *(phone.deed("add", lot=each, quantity="5") for each in NO_IDS),
        *(phone.deed("add", lot=lot, quantity=each) for each in NO_WEIGHTS),
        *(phone.deed("count", lot=lot, quantity=each) for each in NO_WEIGHTS),
        *(phone.deed("event", kind=each) for each in [None, "", "boom", "GEL", 7, [], NUL]),
        *(phone.deed("event", kind="note", words=each) for each in NO_WORDS),
        *(
            phone.deed("event", kind="lye_temperature", celsius=each)
            for each in ["", None, "hot", "NaN", "1e400", 1e300, "-99", "41.555", EMOJI, NUL, [41]]
        ),
        *(phone.deed("pour", words=each, stop_reason="") for each in NO_WORDS),
        *(phone.deed("pour", words="", stop_reason=each) for each in [*NO_WORDS, "a" * 401]),
        *({**phone.deed("lye"), "content": each} for each in [None, [], "x"]),
    ]

    assert refused(phone, deeds) == []


def test_strange_words_are_kept_as_they_are_and_shown_as_text(phone):
    for words in STRANGE_TEXTS:
        assert phone.send(phone.deed("event", kind="note", words=words)).result == "done"
        assert phone.send({**phone.deed("pour", words=words), "aside": True}).result == "aside"

    assert sorted(Event.objects.values_list("words", flat=True)) == sorted(STRANGE_TEXTS)
    page = phone.client.get(reverse("batches:batch", args=[phone.batch.pk])).content.decode()
    assert SCRIPT not in page
    assert "&lt;script&gt;" in page


def test_what_is_wrong_is_named(phone):
    answer = phone.send(weighing(phone, quantity="-3", lot=0))

    assert "quantity: " in answer.data["words"]
    assert "lot: " in answer.data["words"]


def test_more_than_was_asked_for_is_left_out_of_the_record(phone):
    assert phone.send(weighing(phone, price="free", line_name=SCRIPT)).result == "done"

    assert set(Deed.objects.get().content) == {"line", "lot", "quantity", "more_to_come", "part_of"}


def test_the_time_of_any_zone_is_the_same_moment(phone):
    for at in ("2026-11-25T10:00:00Z", "2026-11-25T12:00:00+02:00", "2026-11-25T04:30:00.000-05:30"):
        phone.send({**phone.deed("event", kind="gel"), "at": at})

    assert Deed.objects.values_list("done_at").distinct().count() == 1


@pytest.mark.parametrize("content", [b"", b"GIF89a", bomb()], ids=["empty", "no picture", "bomb"])
def test_a_file_that_is_no_picture_is_refused(phone, content):
    answer = phone.send(phone.deed("event", kind="gel"), upload(content))

    assert (answer.status, answer.result) == (422, "refused")
    assert not Event.objects.exists()


def test_a_text_in_place_of_a_picture_is_no_picture(phone):
    body = {"deed": json.dumps(phone.deed("event", kind="gel")), "photo": "not a file"}

    answer = phone.client.post(reverse("batches:deeds", args=[phone.batch.pk]), body)

    assert answer.json() == {"result": "done"}
    assert Event.objects.get().photo is None


def test_a_batch_that_there_is_none_of_is_not_found(phone):
    answer = phone.client.post("/batches/987654321/deeds/", {"deed": json.dumps(phone.deed("lye"))})

    assert answer.status_code == 404


def test_a_body_that_is_no_form_is_refused_in_words(phone):
    address = reverse("batches:deeds", args=[phone.batch.pk])

    answer = phone.client.post(address, json.dumps(phone.deed("lye")), content_type="application/json")

    assert answer.status_code == 422
