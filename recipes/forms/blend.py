"""The form of the blend finder: the fats to choose from, the aim, and the limits. It is sent by GET."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import zip_longest
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from recipes.blending import Fat
from recipes.models import Recipe
from shared.blend import Aim, BlendError, Goal, Group, Kind, Limit, Side, Wish
from shared.blend.wish import HIGHEST
from shared.fats import fatty_acids
from soapshop.core.fields import NumberField, PercentField, WeightField
from soapshop.core.words import in_words

MOST_LIMITS = 60
BLANK_LIMITS = 2
BLANK = ("", "", "")
HUNDRED = Decimal(100)

GOALS = (
    (Goal.CHEAPEST, _("The cheapest")),
    (Goal.RECIPE, _("Nearest to one of my recipes")),
    (Goal.PROFILE, _("Nearest to these fatty acids")),
    (Goal.EXPIRING, _("Most from what goes off soon")),
)
FIGURES = (
    (Kind.IODINE, _("Iodine value")),
    (Kind.COST, _("Cost of a kg")),
    (Kind.COUNT, _("Number of fats")),
    (Kind.SMALLEST, _("Share of each fat in it, %")),
    (Kind.MOVED, _("Changed from the recipe, %")),
)
SIDES = ((Side.AT_LEAST, _("at least")), (Side.AT_MOST, _("at most")))
ONE_SIDED = {Kind.MOVED: Side.AT_MOST, Kind.COUNT: Side.AT_MOST, Kind.SMALLEST: Side.AT_LEAST}
FIELD_OF = {"fats": "fat", "aim": "goal", "batch_grams": "grams", "recipe": "recipe"}


class LimitForm(forms.Form):
    """One limit. Left empty, it is none."""

    use_required_attribute = False
    prefix = "limit"

    what = forms.ChoiceField(
        label=_("Of what"),
        required=False,
        error_messages={"invalid_choice": _("Choose one of those in the list.")},
    )
    side = forms.ChoiceField(label=_("At least or at most"), choices=SIDES, initial=Side.AT_MOST)
    value = NumberField(label=_("Value"), min=0, max=1_000_000, required=False)

    def __init__(self, index: int, fats: Sequence[Fat], **kwargs: Any) -> None:
        super().__init__(auto_id=f"id_%s-{index}", **kwargs)
        self.index, self.names = index, {str(fat.material.pk): fat.name for fat in fats}
        self.fields["what"].choices = _whats(fats)  # type: ignore[attr-defined]

    @property
    def limit(self) -> Limit | None:
        """Of a valid form."""
        if not self.cleaned_data["what"]:
            return None
        kind, _colon, of = self.cleaned_data["what"].partition(":")
        side, value = Side(self.cleaned_data["side"]), float(self.cleaned_data["value"])
        return Limit(Kind(kind), side, value, self.names[of] if kind == Kind.FAT else of)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        what, value = data.get("what"), data.get("value")
        if not what and value is not None and "what" not in self.errors:
            self.add_error("what", gettext("Choose what to limit, or empty the value."))
        if what and value is None and "value" not in self.errors:
            self.add_error("value", gettext("Give the value."))
        if what and value is not None:
            self._check(Kind(what.partition(":")[0]), value, data.get("side"))
        return data

    def _check(self, kind: Kind, value: Decimal, side: str | None) -> None:
        lowest = 1 if kind is Kind.COUNT else 0
        if not lowest <= value <= HIGHEST[kind]:
            words = gettext("This must lie between %(low)d and %(high)d.")
            self.add_error("value", words % {"low": lowest, "high": HIGHEST[kind]})
        elif kind is Kind.COUNT and value % 1:
            self.add_error("value", gettext("Give a whole number."))
        if side and side != ONE_SIDED.get(kind, side):
            only = dict(SIDES)[ONE_SIDED[kind]]
            self.add_error("side", gettext("This can only be limited by “%(side)s”.") % {"side": only})


class BlendForm(forms.Form):
    """All that is asked of a blend. Unbound it shows what is known, bound what was typed, right or wrong."""

    use_required_attribute = False

    goal = forms.ChoiceField(label=_("Find the blend that is"), choices=GOALS, initial=Goal.CHEAPEST)
    recipe = forms.ChoiceField(
        label=_("Recipe"),
        required=False,
        error_messages={"invalid_choice": _("Choose one of those in the list.")},
    )
    grams = WeightField(
        label=_("Weight of all fats"),
        required=False,
        help_text=_("With it, no more is taken of a fat than is on hand."),
    )
    no_palm = forms.BooleanField(label=_("No palm"), required=False)
    no_animal = forms.BooleanField(label=_("No animal fat"), required=False)
    fat = forms.MultipleChoiceField(
        label=_("Choose from"),
        error_messages={
            "required": _("Choose at least one fat."),
            "invalid_choice": _("One of these fats is no longer in the stockroom."),
        },
    )

    def __init__(
        self,
        typed: QueryDict | None = None,
        *,
        fats: Sequence[Fat],
        recipes: Sequence[Recipe],
        initial: Mapping[str, Any] | None = None,
        limits: Sequence[tuple[str, str, str]] = (),
    ) -> None:
        super().__init__(typed, initial=dict(initial or {}))
        self.fats = fats
        self.fields["fat"].choices = [(str(fat.material.pk), fat.name) for fat in fats]  # type: ignore[attr-defined]
        names = [(str(recipe.pk), recipe.name) for recipe in recipes]
        self.fields["recipe"].choices = [("", _("Choose a recipe")), *names]  # type: ignore[attr-defined]
        for group in Group:
            label = in_words(group.label).capitalize()
            self.fields[group] = PercentField(label=label, required=False, places=1)
        rows = typed_limits(typed) if typed is not None else limits
        self.limits = [self._limit(index, row, typed is not None) for index, row in enumerate(rows)]

    @property
    def targets(self) -> list[forms.BoundField]:
        return [self[group] for group in Group]

    @property
    def chosen(self) -> set[str]:
        """Keys of the fats that are ticked."""
        value = self["fat"].value()
        return set(map(str, value)) if isinstance(value, list | tuple) else set()

    @property
    def in_stock(self) -> list[tuple[Fat, bool]]:
        return [(fat, str(fat.material.pk) in self.chosen) for fat in self.fats if fat.on_hand]

    @property
    def to_buy(self) -> list[tuple[Fat, bool]]:
        return [(fat, str(fat.material.pk) in self.chosen) for fat in self.fats if not fat.on_hand]

    @property
    def to_buy_ticked(self) -> int:
        return sum(ticked for _fat, ticked in self.to_buy)

    @property
    def wrong_limits(self) -> list[str]:
        """What is wrong with the rows of limits."""
        return [str(error) for form in self.limits for field in form for error in field.errors]

    def is_valid(self) -> bool:
        limits = [limit.is_valid() for limit in self.limits]
        return bool(super().is_valid()) and all(limits)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        goal, kinds = data.get("goal"), {limit.data.get("limit-what") for limit in self.limits}
        near = goal == Goal.RECIPE or Kind.MOVED in kinds
        if near and not data.get("recipe") and "recipe" not in self.errors:
            self.add_error("recipe", gettext("Say which recipe to keep near to."))
        if goal == Goal.EXPIRING and not data.get("grams") and "grams" not in self.errors:
            self.add_error("grams", gettext("Say how large the batch is, so that stock can be counted."))
        if goal == Goal.PROFILE and not any(group in self.errors for group in Group):
            self._check_target(list(self.target.values()))
        self._check_fats_limited()
        return data

    @property
    def target(self) -> dict[str, float]:
        """The profile to come near to, of what could be read."""
        given = {group: self.cleaned_data.get(group) for group in Group}
        return {group: float(value) for group, value in given.items() if value is not None}

    def wish(self, recipe: Mapping[str, float]) -> Wish:
        """Of a valid form; `recipe` is the shares of the recipe that was chosen, by name of fat."""
        data = self.cleaned_data
        goal, fats = Goal(data["goal"]), [fat for fat in self.fats if str(fat.material.pk) in data["fat"]]
        palm = [Limit(Kind.PALM, Side.AT_MOST, 0)] if data["no_palm"] else []
        animal = [Limit(Kind.ANIMAL, Side.AT_MOST, 0)] if data["no_animal"] else []
        return Wish(
            fats=tuple(fat.candidate(to_buy=not fat.on_hand) for fat in fats),
            aim=Aim(goal, self.target if goal is Goal.PROFILE else {}),
            limits=(*palm, *animal, *(limit for form in self.limits if (limit := form.limit))),
            batch_grams=float(data["grams"]) if data["grams"] else None,
            recipe=recipe,
        )

    def blame(self, error: BlendError) -> None:
        """Put what the finder refused beside its field."""
        self.add_error(FIELD_OF.get(error.field), in_words(error.args[0]))

    def _check_target(self, shares: Sequence[float]) -> None:
        first = next(iter(Group))
        if not shares:
            self.add_error(first, gettext("Give the share of at least one group."))
        elif sum(shares) > HUNDRED:
            self.add_error(first, gettext("Together these are more than the whole."))

    def _check_fats_limited(self) -> None:
        for form in self.limits:
            kind, _colon, pk = str(form.data.get("limit-what", "")).partition(":")
            if kind == Kind.FAT and pk in form.names and pk not in self.chosen:
                words = gettext("%(fat)s is not among the fats to choose from.") % {"fat": form.names[pk]}
                self.add_error(None, words)

    def _limit(self, index: int, row: tuple[str, str, str], bound: bool) -> LimitForm:
        values = dict(zip(("what", "side", "value"), row, strict=True))
        if not bound:
            return LimitForm(
                index, self.fats, initial={name: value for name, value in values.items() if value}
            )
        return LimitForm(index, self.fats, data={f"limit-{name}": value for name, value in values.items()})


def typed_limits(data: QueryDict) -> list[tuple[str, str, str]]:
    """The rows of limits as they were typed."""
    whats, sides, values = (data.getlist(f"limit-{name}") for name in ("what", "side", "value"))
    return list(zip_longest(whats, sides, values, fillvalue=""))[:MOST_LIMITS]


def _whats(fats: Sequence[Fat]) -> Iterator[tuple[Any, Any]]:
    yield "", _("Choose what to limit")
    yield _("Fatty acids"), [(f"group:{group}", f"{_sentence(group.label)}, %") for group in Group]
    yield _("The blend"), list(FIGURES)
    yield _("One fat"), [(f"fat:{fat.material.pk}", f"{fat.name}, %") for fat in fats]
    yield (
        _("One fatty acid"),
        [(f"acid:{acid}", f"{_sentence(known.name)} {acid}, %") for acid, known in fatty_acids().items()],
    )


def _sentence(words: str) -> str:
    return in_words(words).capitalize()
