"""The settings of the workshop."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from soapshop.core.access import require_owner
from soapshop.core.models import User, Workshop, new_secret
from soapshop.core.services.history import record

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

SETTINGS = (
    "name",
    "address",
    "label_region",
    "currency",
    "units",
    "time_zone",
    "cure_days",
    "cure_days_olive",
    "cure_days_potash",
    "turn_every",
    "weigh_in_every",
    "scale_step",
    "fine_scale_step",
    "fine_scale_up_to",
    "watch_from",
    "stop_from",
    "expiry_warning_days",
)
HIGHEST_STOP = 50
CURRENCY_CODE = re.compile("[A-Z]{3}")  # ISO 4217


@transaction.atomic
def save_settings(*, by: User, **settings: Any) -> Workshop:
    """Change any of SETTINGS. Raises ValidationError beside the field that is wrong."""
    require_owner(by)
    if unknown := settings.keys() - set(SETTINGS):
        raise TypeError(f"No settings of the workshop: {', '.join(sorted(unknown))}")
    workshop = locked_workshop()
    before = {field: getattr(workshop, field) for field in settings}
    for field, value in settings.items():
        setattr(workshop, field, value)
    check(workshop)
    workshop.save(update_fields=list(settings))
    if changed := {field: value for field, value in settings.items() if value != before[field]}:
        record(by=by, subject=workshop, what=gettext("Changed the workshop's settings"), detail=changed)
    return workshop


@transaction.atomic
def renew_calendar(*, by: User) -> Workshop:
    """Give the calendar a new secret address; the old one leads nowhere from now on."""
    require_owner(by)
    workshop = locked_workshop()
    workshop.calendar_secret = new_secret()
    workshop.save(update_fields=["calendar_secret"])
    record(by=by, subject=workshop, what=gettext("Renewed the secret link of the calendar"))
    return workshop


@cache
def known_time_zones() -> list[tuple[StrOrPromise, list[tuple[str, str]]]]:
    """The zones of the world by region, as choices: 'Europe' holds ('Europe/Vienna', 'Vienna')."""
    regions: dict[str, list[tuple[str, str]]] = {}
    for zone in sorted(available_timezones()):
        region, slash, place = zone.partition("/")
        if slash:
            regions.setdefault(region, []).append((zone, place.replace("_", " ").replace("/", ", ")))
    return [(_("World"), [("UTC", "UTC")]), *regions.items()]


def locked_workshop() -> Workshop:
    """The row of settings, made if it is missing and locked until the caller's transaction ends."""
    Workshop.objects.get_or_create(pk=Workshop.SINGLE)
    return Workshop.objects.select_for_update().get(pk=Workshop.SINGLE)


def check(workshop: Workshop) -> None:
    """Raise ValidationError, field by field, for settings that the app could not work with."""
    errors: dict[str, Any] = {}
    try:
        workshop.clean_fields()
    except ValidationError as error:
        errors = error.update_error_dict(errors)
    if "time_zone" not in errors and workshop.time_zone not in available_timezones():
        errors["time_zone"] = gettext("Choose a time zone from the list.")
    if not CURRENCY_CODE.fullmatch(workshop.currency):
        errors.setdefault("currency", gettext("Give the three letters of the currency, such as EUR or USD."))
    if not errors.keys() & {"watch_from", "stop_from"}:
        errors |= _bounds_out_of_order(workshop)
    if not errors.keys() & {"scale_step", "fine_scale_step", "fine_scale_up_to"}:
        errors |= _scales_out_of_order(workshop)
    if errors:
        raise ValidationError(errors)


def _bounds_out_of_order(workshop: Workshop) -> dict[str, str]:
    if workshop.watch_from <= 0:
        return {"watch_from": gettext("This must be more than 0 %.")}
    if workshop.stop_from > HIGHEST_STOP:
        words = gettext("At most %(most)d %%: beyond it a batch is likelier lye-heavy than not.")
        return {"stop_from": words % {"most": HIGHEST_STOP}}
    if workshop.stop_from <= workshop.watch_from:
        return {"stop_from": gettext("'Stop' must begin above 'watch'.")}
    return {}


def _scales_out_of_order(workshop: Workshop) -> dict[str, str]:
    step, most = workshop.fine_scale_step, workshop.fine_scale_up_to
    if step is None and most is None:
        return {}
    if step is None:
        return {"fine_scale_step": gettext("Give its step, or leave both empty if there is no second scale.")}
    if step >= workshop.scale_step:
        return {"fine_scale_step": gettext("The second scale must be finer than the first.")}
    if most is None:
        return {
            "fine_scale_up_to": gettext(
                "Give how much it weighs, or leave both empty if there is no second scale."
            )
        }
    if most < step:
        return {"fine_scale_up_to": gettext("This is less than one step of it.")}
    return {}
