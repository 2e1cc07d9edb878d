"""What the form of a recipe shows while it is being filled in: the result, or what keeps it from one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.http import QueryDict
from django.utils.translation import gettext

from inventory.models import Kind
from recipes import form_steps as steps
from recipes.errors import DesignError
from recipes.explain import Explanation, explain, explain_card
from recipes.forms import RecipeForm, typed_fields, typed_rows
from recipes.formulation import WorkedOut
from recipes.models import LiquidBy, Recipe
from recipes.picture import picture_of
from recipes.portions import PortionDesign
from recipes.pouring import Pouring, pouring_of
from recipes.queries import Catalogue, Sheet, sheet
from recipes.usual_cure import UsualCure, usual_cure
from shared.bar_picture import BarPicture
from soapshop.core.models import Workshop


@dataclass(frozen=True, slots=True)
class Result:
    """A sheet with how it came about, or the problems in the way; neither for a form still blank.

    `card` says how each of its weights came about. `usual_cure` is what the workshop gives to soap of this
    kind; `look` is what a cut bar will show; `pouring` is what to know before it is poured.
    """

    sheet: Sheet | None = None
    how: tuple[Explanation, ...] = ()
    card: tuple[Explanation, ...] = ()
    problems: tuple[str, ...] = ()

    @property
    def alkali_grams(self) -> tuple[Decimal, ...]:
        """What to weigh of each alkali."""
        return tuple(line.grams for line in self.sheet.worked_out.of(Kind.ALKALI)) if self.sheet else ()

    usual_cure: UsualCure | None = None
    look: BarPicture | None = None
    pouring: Pouring | None = None


@dataclass(frozen=True, slots=True)
class Editor:
    """Makes forms of recipes for one request. `portions` are those that the recipe's batter is split into."""

    catalogue: Catalogue
    workshop: Workshop
    day: date
    portions: tuple[PortionDesign, ...] = ()
    recipe: Recipe | None = None

    def bound(self, typed: QueryDict) -> RecipeForm:
        return RecipeForm(typed, catalogue=self.catalogue, workshop=self.workshop, portions=self.portions)

    def as_typed(self, typed: QueryDict) -> RecipeForm:
        """What was typed, shown again without being judged."""
        return RecipeForm(
            initial=typed_fields(typed),
            rows=typed_rows(typed),
            catalogue=self.catalogue,
            workshop=self.workshop,
            portions=self.portions,
        )

    def result(self, form: RecipeForm) -> Result:
        """Work out a bound form."""
        if form.is_blank:
            return Result()
        if not form.can_be_worked_out():
            return Result(problems=tuple(form.problems))
        try:
            found = sheet(form.design, workshop=self.workshop, day=self.day, recipe=self.recipe)
        except DesignError as error:
            return Result(problems=(error.message,))
        return self.shown(found, form.cleaned_data.get("bar_colour", ""))

    def shown(self, found: Sheet, bar_colour: str) -> Result:
        usual = usual_cure(found.worked_out.design, self.workshop)
        card = explain_card(found, self.workshop)
        look = picture_of(found.worked_out, bar_colour=bar_colour)
        pouring = pouring_of(found.worked_out, self.workshop)
        how = explain(found, self.workshop)
        return Result(found, how, card, usual_cure=usual, look=look, pouring=pouring)

    def step(self, typed: QueryDict) -> tuple[RecipeForm, Result]:
        """Take the step that was asked for; the form then shows what was typed, and the result of it."""
        data = typed.copy()
        problem = self._take(data)
        result = self.result(self.bound(data))
        if problem:
            result = Result(problems=(problem, *result.problems))
        form = self.as_typed(data)
        if added := form.lists.get(str(data.get("add"))):
            added.focus_last()
        form.show(result.sheet.needs if result.sheet else ())
        return form, result

    def _take(self, data: QueryDict) -> str:
        """Change the data by the step; return what stands in its way, if anything."""
        if "add" in data:
            steps.add_row(data, str(data["add"]))
        elif "remove" in data:
            name, _, index = str(data["remove"]).partition(":")
            steps.remove_row(data, name, int(index) if index.isdecimal() else -1)
        elif "by_weight" in data:
            return self._convert(data, steps.to_weights)
        elif "by_share" in data:
            return self._convert(data, steps.to_shares)
        elif "by_liquid" in data:
            self._say_liquid(data)
        return ""

    def _say_liquid(self, data: QueryDict) -> None:
        """Another method was chosen: give the value that means the same, where the old one had a meaning."""
        method, data["liquid_by"] = data.get("liquid_by", ""), data.get("liquid_was", "")
        found = self.result(self.bound(data)).sheet
        data["liquid_by"] = method
        if found and method in LiquidBy.values:
            steps.say_liquid_by(data, LiquidBy(method), found.worked_out)

    def _convert(self, data: QueryDict, change: Callable[[QueryDict, WorkedOut], None]) -> str:
        found = self.result(self.bound(data)).sheet
        if found is None:
            return gettext("Put the recipe right first; then it can be said the other way.")
        change(data, found.worked_out)
        return ""
