"""What pages say and draw, from figures and days as the database holds them."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
import time_machine
from django import forms
from django.template import Context, Template
from django.utils import timezone

from shared.bar_picture import BarPicture
from shared.cross_section import Layer
from soapshop.core.templatetags.soapshop import (
    ago,
    day,
    how_far,
    money,
    number,
    percent,
    short_day,
    stock_weight,
    trimmed,
    weight,
)

NOTHING = [
    None,
    "",
    "five",
    "NaN",
    float("nan"),
    float("inf"),
    "1e999999",
    "🧼",
    "<script>",
    "\0",
    "9" * 10_000,
]
NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)
SAFE = {
    "likely_low": 2.24,
    "likely_high": 7.68,
    "worst_low": -0.6,
    "worst_high": 10.6,
    "chance_lye_heavy": 0.0003,
    "verdict": "safe",
    "narrows_most": "Palm oil",
}
FOG = BarPicture((Layer("#6d7987", 28, "Deep"), Layer("#f1efe4", 72, "Crest")))


def render(source: str, **context: Any) -> str:
    return Template("{% load soapshop %}" + source).render(Context(context))


def words(html: str) -> str:
    """The text of a piece of a page, with plain spaces."""
    text = html
    while "<" in text:
        head, _, rest = text.partition("<")
        text = head + " " + rest.partition(">")[2]
    return " ".join(text.replace("&nbsp;", " ").split())


class TestFigures:
    @pytest.mark.parametrize(
        ("value", "places", "said"),
        [
            (0, 0, "0"),
            (1268, 0, "1\u202f268"),
            (Decimal("1234567.891"), 2, "1\u202f234\u202f567.89"),
            (-0.6, 1, "\u22120.6"),
            (-0.04, 1, "0.0"),
            (Decimal("2.25"), 1, "2.3"),
        ],
    )
    def test_numbers_have_narrow_spaces_and_a_true_minus(self, value: object, places: int, said: str) -> None:
        assert number(value, places) == said

    @pytest.mark.parametrize("value", NOTHING)
    @pytest.mark.parametrize("write", [number, percent, weight, stock_weight, money, trimmed])
    def test_what_is_no_figure_is_shown_as_nothing(self, write: Any, value: object) -> None:
        assert write(value) == ""

    def test_per_cent_is_tied_to_its_sign(self) -> None:
        assert percent(2.24, 1) == "2.2\u00a0%"

    def test_noughts_at_the_end_are_trimmed(self) -> None:
        assert [trimmed(figure) for figure in ("5.00", "5.50", "100", "0")] == ["5", "5.5", "100", "0"]

    def test_a_weight_follows_the_step_of_the_workshop_scale(self) -> None:
        fine = SimpleNamespace(units="metric", scale_step=Decimal("0.1"))
        assert weight(Decimal("1268.04")) == "1\u202f268\u00a0g"
        assert weight(Decimal("34.14"), fine) == "34.1\u00a0g"

    def test_a_weight_is_in_pounds_where_the_workshop_chose_them(self) -> None:
        american = SimpleNamespace(units="us", scale_step=Decimal(1))
        assert weight(Decimal(1268), american).startswith("2\u00a0lb")

    def test_plenty_of_stock_is_in_kilograms(self) -> None:
        assert stock_weight(11_230) == "11.2\u00a0kg"

    def test_money_names_its_currency(self) -> None:
        assert money(Decimal("1.845"), SimpleNamespace(currency="EUR")) == "1.85\u00a0EUR"
        assert money(1234, "GBP") == "1\u202f234.00\u00a0GBP"
        assert money(2) == "2.00"


class TestDays:
    @pytest.fixture(autouse=True)
    def at_noon(self) -> Iterator[None]:
        with time_machine.travel(NOON, tick=False):
            yield

    @pytest.mark.parametrize(
        ("days", "said"),
        [
            (0, "Tue 12 May, today"),
            (1, "Wed 13 May, tomorrow"),
            (-1, "Mon 11 May, yesterday"),
            (9, "Thu 21 May, in 9 days"),
            (-9, "Sun 3 May, 9 days ago"),
            (99, "Wed 19 Aug, in 99 days"),
            (122, "Fri 11 Sep, in 4 months"),
            (365, "Wed 12 May 2027, in 12 months"),
        ],
    )
    def test_a_day_says_which_and_how_far_off(self, days: int, said: str) -> None:
        assert day(NOON.date() + timedelta(days)) == said

    @pytest.mark.parametrize(("days", "said"), [(-1, "yesterday"), (0, "today"), (9, "in 9 days")])
    def test_where_the_day_is_plain_only_how_far_off_it_is_is_said(self, days: int, said: str) -> None:
        assert how_far(NOON.date() + timedelta(days)) == said

    def test_a_moment_counts_by_the_day_of_the_workshop(self) -> None:
        late_evening_in_utc = datetime(2026, 5, 12, 23, 0, tzinfo=UTC)
        with timezone.override("Europe/Berlin"):
            assert short_day(late_evening_in_utc) == "Wed 13 May"

    @pytest.mark.parametrize("write", [day, how_far, short_day, ago])
    def test_no_day_is_shown_as_nothing(self, write: Any) -> None:
        assert write(None) == ""

    @pytest.mark.parametrize(
        ("past", "said"),
        [
            (timedelta(seconds=5), "just now"),
            (timedelta(minutes=1), "1 minute ago"),
            (timedelta(minutes=59), "59 minutes ago"),
            (timedelta(hours=3), "3 hours ago"),
            (timedelta(hours=30), "Mon 11 May, yesterday"),
        ],
    )
    def test_a_moment_says_how_long_ago(self, past: timedelta, said: str) -> None:
        assert ago(NOON - past) == said

    def test_a_day_without_a_time_says_the_day(self) -> None:
        assert ago(date(2026, 5, 11)) == "Mon 11 May, yesterday"


class TestPictures:
    def test_an_icon_is_silent_and_of_the_sprite(self) -> None:
        html = render('{% icon "rack" %}')
        assert 'aria-hidden="true"' in html
        assert "/static/soapshop/icons.svg#rack" in html

    def test_an_icon_cannot_smuggle_markup(self) -> None:
        assert "<script>" not in render("{% icon name %}", name='"><script>')

    def test_a_cross_section_shows_its_colours_and_says_its_layers(self) -> None:
        html = render('{% cross_section look "header" seed="26-0147" %}', look=FOG)
        assert 'fill="#6d7987"' in html
        assert 'fill="#f1efe4"' in html
        assert 'aria-label="Cross-section from the bottom up: Deep 28 %, Crest 72 %"' in html
        assert "cut-header" in html

    def test_beside_its_name_a_cross_section_is_silent(self) -> None:
        html = render("{% cross_section look decorative=True %}", look=FOG)
        assert 'aria-hidden="true"' in html
        assert "aria-label" not in html

    def test_without_layers_it_is_plain_batter(self) -> None:
        assert render("{% cross_section look %}", look=None).count('fill="#') == 1

    def test_the_mould_gives_it_its_height(self) -> None:
        square = render("{% cross_section look %}", look=replace(FOG, width=80.0, height=80.0))
        assert 'viewBox="0 0 120.0 123.0"' in square

    def test_names_of_layers_are_escaped(self) -> None:
        assert "<b>" not in render("{% cross_section look %}", look=BarPicture((Layer("#ffffff", 1, "<b>"),)))

    def test_a_swatch_shows_its_colour(self) -> None:
        assert 'fill="#6d7987"' in render('{% swatch "#6d7987" %}')


class TestSafetyRange:
    def test_it_says_the_word_the_range_and_the_worst(self) -> None:
        said = words(render("{% safety_range safety aim=aim %}", safety=SAFE, aim=Decimal("5.00")))
        assert "Safe superfat likely 2.2 to 7.7 %, aimed at 5 %" in said
        assert "At the very worst \u22120.6 %." in said
        assert "It hangs most on Palm oil: a closer certificate would narrow it." in said

    def test_an_object_is_read_like_a_mapping(self) -> None:
        by_name = render("{% safety_range safety aim=5 %}", safety=SimpleNamespace(**SAFE))
        assert by_name == render("{% safety_range safety aim=5 %}", safety=SAFE)

    def test_a_chance_too_small_to_matter_is_left_out(self) -> None:
        assert "such pours" not in render("{% safety_range safety %}", safety=SAFE)

    @pytest.mark.parametrize(
        ("verdict", "advice"), [("watch", "Aim at more superfat"), ("stop", "Do not pour this as it stands")]
    )
    def test_when_it_is_not_safe_it_says_what_to_do(self, verdict: str, advice: str) -> None:
        said = words(
            render(
                "{% safety_range safety %}", safety={**SAFE, "verdict": verdict, "chance_lye_heavy": 0.043}
            )
        )
        assert said.startswith(verdict.capitalize())
        assert advice in said
        assert "In 4.3 % of such pours lye would be left over." in said

    def test_advice_of_its_own_takes_the_place_of_the_usual(self) -> None:
        stop = {**SAFE, "verdict": "stop"}
        said = words(render('{% safety_range safety advice="Add 21 g olive oil." %}', safety=stop))
        assert "Add 21 g olive oil." in said
        assert "Do not pour" not in said

    def test_the_foot_of_the_weighing_screen_is_short(self) -> None:
        said = words(
            render('{% safety_range safety aim=5 compact=True lead="with 643 g lye" %}', safety=SAFE)
        )
        assert said.startswith("Safe with 643 g lye: superfat likely 2.2 to 7.7 %")
        assert "worst" not in said

    @pytest.mark.parametrize(
        ("stage", "advice"),
        [("weighed", "Add fat, or undo a weight."), ("poured", "Keep them back until a cured bar")],
    )
    def test_what_to_do_goes_by_how_far_the_batch_is(self, stage: str, advice: str) -> None:
        watch = {**SAFE, "verdict": "watch"}
        said = words(render("{% safety_range safety aim=5 stage=stage %}", safety=watch, stage=stage))
        assert advice in said
        assert "From 6 % superfat" not in said

    def test_a_plan_to_be_watched_says_from_which_superfat_it_would_be_sure(self) -> None:
        said = words(render("{% safety_range safety aim=5 %}", safety={**SAFE, "verdict": "watch"}))
        assert "From 6 % superfat none would be, even in the very worst case." in said

    def test_the_foot_of_a_pot_to_be_watched_says_what_is_least_sure(self) -> None:
        watch = {**SAFE, "verdict": "watch"}
        shown = "{% safety_range safety aim=5 compact=True advice='Add fat.' %}"
        assert "Add fat. Least sure: Palm oil." in words(render(shown, safety=watch))
        scale = {**watch, "narrows_most": "the scale"}
        assert "Least sure: the steps of the scale." in words(render(shown, safety=scale))

    def test_the_picture_has_a_name_and_marks_the_aim(self) -> None:
        drawn = render("{% safety_strip safety aim=5 %}", safety=SAFE)
        assert "Superfat likely 2.2 to 7.7\u00a0%, in the very worst case \u22120.6 to 10.6\u00a0%" in drawn
        assert 'role="img"' in drawn
        assert "aim 5 %" in drawn
        assert "strip-aim" not in render("{% safety_strip safety %}", safety=SAFE)


class TestBench:
    def test_progress_says_which_one_it_is_at(self) -> None:
        html = render("{% progress_strip 3 9 %}")
        assert 'aria-label="4 of 9"' in html
        assert [html.count(f"progress-{state}") for state in ("done", "now", "left")] == [3, 1, 5]

    def test_when_all_is_done_progress_stays_at_the_last(self) -> None:
        html = render("{% progress_strip 9 9 %}")
        assert 'aria-label="9 of 9"' in html
        assert "progress-now" not in html

    def test_the_big_weight_parts_numeral_and_unit(self) -> None:
        html = render("{% big_weight 1268 %}")
        assert "<b>1\u202f268</b> <small>g</small>" in html
        assert "big-weight-long" not in html

    def test_a_long_big_weight_is_set_smaller(self) -> None:
        assert "big-weight-long" in render("{% big_weight 11268 %}")

    def test_pounds_and_ounces_are_two_numerals(self) -> None:
        html = render(
            "{% big_weight 1268 workshop %}", workshop=SimpleNamespace(units="us", scale_step=Decimal(1))
        )
        assert html.count("<b>") == 2
        assert "<small>lb</small>" in html


class LotForm(forms.Form):
    grams = forms.DecimalField(help_text="As on the label.", min_value=1)
    price = forms.DecimalField(required=False)
    kind = forms.ChoiceField(choices=[("a", "A"), ("b", "B")], widget=forms.RadioSelect)
    organic = forms.BooleanField(required=False)
    key = forms.CharField(widget=forms.HiddenInput)


class TestFields:
    def field(self, name: str, **data: str) -> str:
        bound = LotForm({"grams": "-4", **data})[name]
        return render('{% include "components/field.html" with unit="g" %}', field=bound)

    def test_a_field_is_tied_to_its_label_hint_and_error(self) -> None:
        html = self.field("grams")
        assert '<label class="field-label" for="id_grams">' in html
        assert 'aria-describedby="id_grams_helptext id_grams_error"' in html
        assert 'aria-invalid="true"' in html
        assert 'id="id_grams_error"' in html
        assert 'id="id_grams_helptext"' in html
        assert 'value="-4"' in html

    def test_what_may_be_left_out_says_so(self) -> None:
        assert "if you like" in self.field("price")
        assert "if you like" not in self.field("grams")

    def test_choices_stand_in_a_fieldset_with_a_legend(self) -> None:
        html = self.field("kind", kind="z")
        assert "<legend" in html
        assert 'aria-describedby="id_kind_error"' in html

    def test_a_box_to_tick_stands_before_its_words(self) -> None:
        html = self.field("organic")
        assert html.index("<input") < html.index("Organic")

    def test_a_hidden_field_shows_nothing(self) -> None:
        assert words(self.field("key")) == ""

    def test_the_summary_links_to_the_fields_and_tells_what_is_hidden(self) -> None:
        html = render('{% include "components/form_errors.html" %}', form=LotForm({"grams": "-4"}))
        assert '<a href="#id_grams">Grams</a>' in html
        assert "Price" not in html
        assert "This field is required." in html

    def test_a_good_form_has_no_summary(self) -> None:
        good = LotForm({"grams": "4", "kind": "a", "key": "k"})
        assert words(render('{% include "components/form_errors.html" %}', form=good)) == ""


def test_the_navigation_marks_where_one_is() -> None:
    html = render("{% navigation %} rack {% endnavigation %}", user=SimpleNamespace(is_owner=True))
    assert html.count('aria-current="page"') == 1
    assert 'href="/rack/" aria-current="page"' in html
