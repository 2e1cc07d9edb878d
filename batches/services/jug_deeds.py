"""Deeds from a phone that tell of jugs: each goes into the book once, or the maker is asked."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from batches.models import Batch, Jug, Line
from batches.services import conflicts, jug_conflicts, jugs
from batches.services.told import AddJug, EmptyJug, Fill, LeaveJug, OfJugs, Stirred, TopUp
from recipes.models import Destination
from soapshop.core.models import User


def do(*, batch: Batch, key: UUID, content: OfJugs, at: datetime, by: User) -> None:
    """Puts it into the book. Raises Held, and ValidationError for what the book refuses."""
    match content:
        case Fill():
            _fill(batch, key, content, at, by)
        case EmptyJug(jug=name):
            _empty(batch, name, by)
        case LeaveJug():
            _leave(batch, content, at, by)
        case TopUp():
            _top_up(batch, key, content, at, by)
        case added:
            _add(batch, key, added, at, by)


def in_words(content: OfJugs) -> str:
    """What the record says of one that was kept aside."""
    match content:
        case Fill(jug=name, grams=grams, stirred=stirred):
            words = gettext("Filled %(jug)s: %(grams)s g of batter") % {"jug": name, "grams": grams}
            return ", ".join([words, *(_stirred_in_words(each) for each in stirred)])
        case EmptyJug(jug=name):
            return gettext("Emptied %(jug)s again") % {"jug": name}
        case LeaveJug(jug=name):
            return gettext("Left out %(jug)s") % {"jug": name}
        case TopUp(jug=name, grams=grams):
            return gettext("Added %(grams)s g of batter to %(jug)s") % {"jug": name, "grams": grams}
        case added:
            figures = {"jug": added.name, "grams": added.grams}
            return gettext("Took out %(grams)s g for %(jug)s") % figures


def _stirred_in_words(stirred: Stirred) -> str:
    line = Line.objects.filter(pk=stirred.line).select_related("material").first()
    material = line.material if line else gettext("a line that is no longer there")
    return gettext("%(grams)s g %(material)s") % {"grams": stirred.grams, "material": material}


def _fill(batch: Batch, key: UUID, content: Fill, at: datetime, by: User) -> None:
    jug = _there(batch, content.jug)
    if jug.key == key:
        return
    _check_open(batch)
    if not jug.is_open:
        raise jug_conflicts.filled_already(jug, content)
    _check_stirred(batch, content)
    try:
        jugs.fill_jug(
            jug=jug,
            grams=content.grams,
            key=key,
            by=by,
            stirred_in={each.line: each.grams for each in content.stirred},
            lots={each.line: each.lot for each in content.stirred if each.lot is not None},
            at=at,
        )
    except ValidationError as error:
        jug_conflicts.ask_instead_of(error, batch, content)
        raise


def _check_stirred(batch: Batch, content: Fill) -> None:
    card = next(card for card in jugs.board_of(batch).cards if card.jug.name == content.jug)
    known = {stir.line.pk for stir in card.stir}
    if any(each.line not in known for each in content.stirred):
        raise ValidationError(gettext("%(jug)s holds nothing of that line.") % {"jug": content.jug})


def _empty(batch: Batch, name: str, by: User) -> None:
    """What is open or gone already is no conflict."""
    jug = _find(batch, name)
    if jug and not jug.is_open:
        _check_open(batch)
        jugs.empty_jug(jug=jug, by=by)


def _leave(batch: Batch, content: LeaveJug, at: datetime, by: User) -> None:
    jug = _find(batch, content.jug)
    if jug is None or jug.dropped:
        return
    _check_open(batch)
    if jug.grams is not None:
        raise jug_conflicts.filled_meanwhile(jug)
    jugs.leave_out(jug=jug, by=by, at=at)


def _top_up(batch: Batch, key: UUID, content: TopUp, at: datetime, by: User) -> None:
    jug = _there(batch, content.jug)
    if jug.key == key:
        return
    _check_open(batch)
    try:
        jugs.top_up(jug=jug, grams=content.grams, key=key, by=by, at=at)
    except ValidationError as error:
        jug_conflicts.ask_instead_of(error, batch, content)
        raise


def _add(batch: Batch, key: UUID, content: AddJug, at: datetime, by: User) -> None:
    if Jug.objects.filter(batch=batch, key=key).exists():
        return
    _check_open(batch)
    if jug := batch.jugs.filter(name__iexact=content.name).first():
        raise jug_conflicts.called_so_already(jug, content)
    try:
        jugs.add_jug(
            batch=batch,
            name=content.name,
            grams=content.grams,
            key=key,
            by=by,
            destination=Destination(content.destination),
            colour=content.colour,
            at=at,
        )
    except ValidationError as error:
        jug_conflicts.ask_instead_of(error, batch, content)
        raise


def _find(batch: Batch, name: str) -> Jug | None:
    return batch.jugs.filter(name=name).first()


def _there(batch: Batch, name: str) -> Jug:
    jug = _find(batch, name)
    if jug is None:
        figures = {"batch": batch, "jug": name}
        raise ValidationError(gettext("%(batch)s has no jug called %(jug)s.") % figures)
    return jug


def _check_open(batch: Batch) -> None:
    if not batch.is_open:
        raise conflicts.closed(batch)
