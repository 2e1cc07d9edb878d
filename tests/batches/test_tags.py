"""Rack tags: the code on a printed tag opens the batch that it hangs on."""

from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from pypdf.generic import RectangleObject

from batches.models import Batch, Cure
from batches.queries.tags import MOST_TAGS, tags_of, tags_to_choose
from batches.services.pour import undo_pour
from soapshop.core import pdf
from tests import printed
from tests.bad_input import EMOJI, NUL, SCRIPT
from tests.batches.bench import Bench, bench
from tests.batches.curing import copies, cut_days_ago, days_ago, poured
from tests.factories import WorkshopFactory

pytestmark = pytest.mark.django_db

TAGS, PDF = reverse("batches:tags"), reverse("batches:tags_pdf")
LONG_NAME = f"A soap with a name as long as a summer's day on the coast {EMOJI} & <b>more</b>"


@pytest.fixture
def shop() -> Bench:
    return bench(quantity=50_000)


@pytest.fixture
def phone(shop, client_of):
    return client_of(shop.maker)


def tags_for(client: Client, *cures: Cure, **extra: str) -> bytes:
    answer = client.get(PDF, {"batch": [cure.batch_id for cure in cures]}, **extra)
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def test_every_code_opens_its_own_batch(shop, phone, tmp_path):
    cures = [cut_days_ago(shop, 9), cut_days_ago(shop, 30), poured(shop, 1)]

    found = printed.codes(tags_for(phone, *cures), tmp_path)

    assert len(found) == 3
    opened = {phone.get(urlsplit(code).path, follow=True).context["batch"] for code in found}
    assert opened == {cure.batch for cure in cures}


def test_codes_are_read_off_a_full_sheet_and_the_next(shop, phone, tmp_path):
    copies(cut_days_ago(shop, 3), 9)
    cures = list(Cure.objects.all())

    sheets = tags_for(phone, *cures)

    assert len(printed.read(sheets).pages) == 2
    assert len(set(printed.codes(sheets, tmp_path))) == 10


def test_someone_who_is_not_signed_in_comes_to_the_batch_after_signing_in(shop):
    address = reverse("batches:find", args=[cut_days_ago(shop, 3).batch_id])

    assert Client().get(address).url == f"{reverse('core:sign_in')}?next={address}"


def test_a_tag_says_what_hangs_there(shop, phone):
    cure = cut_days_ago(shop, 9)
    WorkshopFactory(name="Lindenbath Soap")

    said = printed.words(tags_for(phone, cure))

    for part in (
        cure.batch.code,
        "Four oils",
        f"{cure.started_on:%a} {cure.started_on.day} {cure.started_on:%b %Y}",
        f"{cure.ready_on:%a} {cure.ready_on.day} {cure.ready_on:%b %Y}",
        "Lindenbath Soap",
    ):
        assert part in said


def test_before_the_cut_the_ready_day_is_only_about(shop, phone):
    assert "Ready about" in printed.words(tags_for(phone, poured(shop, 0)))


def test_names_of_any_length_and_kind_stay_on_their_tag(shop, phone, tmp_path):
    for number in range(8):
        cut_days_ago(shop, number)
    for batch in Batch.objects.all():
        batch.frozen["recipe"] = LONG_NAME * 3
        batch.code = f"{batch.pk:W>20}"
        batch.save()

    sheet = tags_for(phone, *Cure.objects.all())

    assert len(printed.read(sheet).pages) == 1
    assert len(printed.codes(sheet, tmp_path)) == 8


@pytest.mark.parametrize(("units", "size"), [("metric", (595, 842)), ("us", (612, 792))])
def test_the_paper_follows_the_units_and_holds_eight(shop, phone, units, size):
    WorkshopFactory(units=units)
    copies(cut_days_ago(shop, 3), 7)

    (page,) = printed.read(tags_for(phone, *Cure.objects.all())).pages

    assert paper(page.mediabox) == size


def paper(box: RectangleObject) -> tuple[int, int]:
    return round(float(box.width)), round(float(box.height))


# Which address the codes carry.


def test_the_codes_carry_the_address_by_which_the_page_was_asked_for(shop, phone, tmp_path):
    cure = cut_days_ago(shop, 3)

    (code,) = printed.codes(tags_for(phone, cure, HTTP_HOST="testserver:8000"), tmp_path)

    assert code == f"http://testserver:8000/q/b{cure.batch_id}"


def test_the_codes_carry_the_settled_address_where_there_is_one(shop, phone, settings, tmp_path):
    settings.PUBLIC_ADDRESS = "https://soap.example"
    cure = cut_days_ago(shop, 3)

    (code,) = printed.codes(tags_for(phone, cure), tmp_path)

    assert code == f"https://soap.example/q/b{cure.batch_id}"
    assert "https://soap.example" in phone.get(TAGS).content.decode()


def test_the_page_says_which_address_it_will_be(shop, phone):
    cut_days_ago(shop, 3)

    page = phone.get(TAGS, HTTP_HOST="testserver:8000").content.decode()

    assert "http://testserver:8000" in page
    assert "for as long as" in page


# Which batches.


def test_all_of_the_rack_is_ticked_unless_one_batch_was_asked_for(shop, phone):
    one, other = cut_days_ago(shop, 3), poured(shop, 1)
    cut_days_ago(shop, 40)

    assert [tag.cure for tag in phone.get(TAGS).context["tags"]] == [other, one]
    page = phone.get(TAGS, {"batch": one.batch_id}).content.decode()
    assert f'value="{one.batch_id}" checked' in page
    assert f'value="{other.batch_id}">' in page


def test_a_batch_on_the_shelf_has_a_tag_when_asked_for(shop):
    on_the_shelf = cut_days_ago(shop, 40)

    assert tags_to_choose(days_ago(0), []) == []
    assert [tag.cure for tag in tags_to_choose(days_ago(0), [on_the_shelf.batch_id])] == [on_the_shelf]


def test_planned_and_undone_batches_have_none(shop):
    undone = poured(shop, 1).batch
    undo_pour(batch=undone, reason="Wrong mould", by=shop.maker)

    assert tags_of([shop.plan().pk, undone.pk]) == []


def test_more_than_can_be_printed_at_once_is_told(shop, phone):
    copies(cut_days_ago(shop, 3), MOST_TAGS)

    answer = phone.get(TAGS)

    assert len(answer.context["tags"]) == MOST_TAGS
    assert f"The newest {MOST_TAGS} batches" in answer.content.decode()


@pytest.mark.parametrize("asked", ["", "0", "-1", "9" * 400, "x", EMOJI, SCRIPT, NUL])
def test_a_question_for_nothing_leads_back_to_the_choice(shop, phone, asked):
    assert phone.get(PDF, {"batch": asked}).url == TAGS
    assert phone.get(TAGS, {"batch": asked}).status_code == 200


def test_the_page_of_a_batch_and_the_rack_lead_to_the_tags(shop, phone):
    cure = cut_days_ago(shop, 3)

    assert f"{TAGS}?batch={cure.batch_id}" in phone.get(f"/batches/{cure.batch_id}/").content.decode()
    assert TAGS in phone.get(reverse("batches:rack")).content.decode()


def test_an_empty_rack_says_so(phone):
    assert "The rack is empty" in phone.get(TAGS).content.decode()


def test_without_pango_the_page_says_how_to_install_it(shop, phone, monkeypatch):
    def unavailable(*_args, **_kwargs):
        raise pdf.PdfUnavailable("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(pdf, "render_pdf", unavailable)
    answer = phone.get(PDF, {"batch": cut_days_ago(shop, 3).batch_id})

    assert answer.status_code == 503
    assert "libpango" in answer.content.decode()


def test_a_code_for_no_batch_is_not_found(phone):
    assert phone.get(reverse("batches:find", args=[999])).status_code == 404


def test_the_queries_do_not_grow_with_the_tags(shop, phone, django_assert_num_queries):
    cut_days_ago(shop, 3)
    for _ in range(2):
        with django_assert_num_queries(4):
            phone.get(TAGS)
        copies(Cure.objects.first(), 10)
