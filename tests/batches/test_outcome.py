"""Meant and made: what came of a batch, told to the version that it was poured from."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils import timezone

from batches.models import Cure
from batches.queries.outcome import outcome_of
from batches.services.outcome import note_outcome
from recipes.design import design_of
from recipes.models import Outcome, Version
from recipes.services import save_version
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG
from tests.batches.bench import Bench
from tests.batches.curing import cut_days_ago
from tests.batches.curing import poured as uncut
from tests.batches.pages import words
from tests.core.pictures import jpeg, upload
from tests.factories import ViewerFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def cure(shop: Bench) -> Cure:
    return cut_days_ago(shop, 3)


@pytest.fixture
def phone(shop: Bench, client_of):
    return client_of(shop.maker)


def noted(shop: Bench, cure: Cure, **changed) -> Outcome:
    said = {"as_meant": "Even layers", "otherwise": "Pour thinner", "photo": None}
    return note_outcome(cure=cure, on=timezone.localdate(), by=shop.maker, **{**said, **changed})


def url(cure: Cure) -> str:
    return reverse("batches:outcome", args=[cure.batch_id])


class TestNoted:
    def test_it_stands_with_the_version_and_the_batch(self, shop, cure):
        outcome = noted(shop, cure, photo=upload(jpeg()))
        assert outcome_of(cure.batch) == outcome
        assert outcome.version == cure.batch.version
        assert (outcome.as_meant, outcome.otherwise) == ("Even layers", "Pour thinner")
        assert outcome.photo is not None

    def test_noted_again_it_is_put_right_and_keeps_its_photo(self, shop, cure):
        first = noted(shop, cure, photo=upload(jpeg()))
        again = noted(shop, cure, otherwise="Pour hotter")
        assert Outcome.objects.get() == again
        assert again.otherwise == "Pour hotter"
        assert again.photo_id == first.photo_id

    def test_a_photo_alone_says_enough(self, shop, cure):
        assert noted(shop, cure, as_meant="", otherwise="", photo=upload(jpeg())).photo is not None

    def test_nothing_said_is_refused(self, shop, cure):
        with pytest.raises(ValidationError, match="Say what came out as meant"):
            noted(shop, cure, as_meant=" ", otherwise="")

    def test_before_the_cut_there_is_no_face_to_look_at(self, shop):
        with pytest.raises(ValidationError, match="Cut it first"):
            noted(shop, uncut(shop, 1))

    def test_what_is_no_picture_is_refused_beside_its_field(self, shop, cure):
        with pytest.raises(ValidationError) as caught:
            noted(shop, cure, photo=upload(b"no picture"))
        assert "photo" in caught.value.message_dict
        assert not Outcome.objects.exists()

    def test_a_viewer_notes_nothing(self, shop, cure):
        with pytest.raises(PermissionDenied):
            note_outcome(
                cure=cure, as_meant="x", otherwise="", photo=None, on=timezone.localdate(), by=ViewerFactory()
            )

    def test_nothing_came_of_a_batch_yet(self, cure):
        assert outcome_of(cure.batch) is None


class TestThePage:
    def test_it_is_kept_and_shown_on_the_batch_and_on_the_recipe(self, phone, cure):
        answer = phone.post(url(cure), {"as_meant": "Even layers", "otherwise": "Pour thinner"})
        assert answer.url == reverse("batches:batch", args=[cure.batch_id])
        recipe = reverse("recipes:recipe", args=[cure.batch.version.recipe_id])
        for page in (answer.url, url(cure), recipe):
            shown = words(phone.get(page))
            assert "As meant Even layers" in shown
            assert "Otherwise next time Pour thinner" in shown

    def test_it_stands_with_the_next_version_too(self, shop, phone, cure):
        noted(shop, cure, photo=upload(jpeg()))
        version = Version.objects.with_ingredients().get(pk=cure.batch.version_id)
        save_version(
            recipe=version.recipe, name="Four oils", design=design_of(version), cure_days=35, by=shop.maker
        )
        page = phone.get(reverse("recipes:recipe", args=[version.recipe_id]))
        assert "What came of version 1" in words(page)
        assert f'alt="The cut face of {cure.batch.code}"' in page.content.decode()

    def test_what_was_noted_before_can_be_put_right(self, shop, phone, cure):
        noted(shop, cure)
        page = phone.get(url(cure)).content.decode()
        assert "Pour thinner</textarea>" in page

    @pytest.mark.parametrize("field", ["as_meant", "otherwise"])
    @pytest.mark.parametrize("wrong", [TOO_LONG, NUL])
    def test_what_cannot_be_kept_is_refused_beside_its_field(self, phone, cure, field, wrong):
        answer = phone.post(url(cure), {field: wrong})
        assert answer.status_code == 422
        assert answer.context["form"].errors.keys() == {field}
        assert answer.context["form"][field].value() == wrong

    def test_nothing_said_is_told_on_top(self, phone, cure):
        answer = phone.post(url(cure), {"as_meant": "   "})
        assert answer.status_code == 422
        assert "Say what came out as meant" in words(answer)

    def test_what_is_no_picture_is_told_and_the_words_stay(self, phone, cure):
        answer = phone.post(url(cure), {"as_meant": "Even layers", "photo": upload(b"no picture")})
        assert answer.status_code == 422
        assert "photo" in answer.context["form"].errors
        assert "Even layers</textarea>" in answer.content.decode()

    @pytest.mark.parametrize("strange", [EMOJI, SCRIPT, "{{ 7|add:7 }}"])
    def test_strange_words_are_words(self, phone, cure, strange):
        assert phone.post(url(cure), {"as_meant": strange}).status_code == 302
        assert SCRIPT not in phone.get(url(cure)).content.decode()
        assert outcome_of(cure.batch).as_meant == strange

    def test_sent_twice_it_stands_once(self, phone, cure):
        for _ in range(2):
            phone.post(url(cure), {"as_meant": "Even layers"})
        assert Outcome.objects.count() == 1

    def test_before_the_cut_it_leads_back_and_says_why(self, shop, phone):
        answer = phone.get(url(uncut(shop, 1)), follow=True)
        assert "Cut it first" in words(answer)

    def test_a_batch_that_is_not_poured_has_none(self, shop, phone):
        assert phone.get(reverse("batches:outcome", args=[shop.plan().pk])).status_code == 404

    def test_a_viewer_may_not(self, cure, client_of):
        assert client_of(ViewerFactory()).get(url(cure)).status_code == 403
