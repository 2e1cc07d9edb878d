"""Splitting the batter at the bench: filling jugs, leaving one out, adding one. Nothing leaves stock yet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext

from batches.frozen import FrozenRecipe
from batches.models import Batch, Jug, Line, Weighing
from batches.services.errors import AlreadyWeighed
from batches.services.moment import moment
from batches.services.plan import check_open, lock
from batches.services.shares import draw_from_lots
from batches.splitting import JugCard, Splitting, splitting
from inventory.amounts import weight_in_words
from recipes.models import Destination, Stage
from recipes.portions import MOST_PORTIONS
from shared.cross_section import COLOUR
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

MOST_JUGS = 2 * MOST_PORTIONS
OFF_BY = Decimal("0.01")
"""Of the batter: by so much two scales, or one twice, may disagree. Common practice, no source."""


@transaction.atomic
def fill_jug(
    *,
    jug: Jug,
    grams: Decimal,
    key: UUID,
    by: User,
    stirred_in: Mapping[int, Decimal] | None = None,
    lots: Mapping[int, int] | None = None,
    at: datetime | None = None,
) -> Jug:
    """Notes that so many grams of batter went into a jug, and what was stirred in. Sent twice, it counts
    once.

    `stirred_in` are grams by the id of their line of the card, as planned for so much batter where it is not
    given; `lots` by line the lot it came from, else the first to expire. Raises NotOpen, AlreadyWeighed,
    NotEnough and ValidationError (fields 'grams', 'at' and 'stir-…' with the id of the line).
    """
    require_maker(by)
    batch = lock(jug.batch)
    jug = Jug.objects.select_for_update().get(pk=jug.pk)
    if jug.key == key:
        return jug
    check_open(batch)
    if not jug.is_open:
        raise AlreadyWeighed(gettext("%(jug)s was filled or left out already.") % {"jug": jug.name})
    filled_at = moment(at)
    _check_lye_mixed(batch)
    lines = _lines(batch)
    board = _board(batch, lines)
    _check_remains(grams, board)
    jug.grams, jug.filled_at, jug.filled_by, jug.key = grams, filled_at, by, key
    jug.save()
    card = _card(_board(batch, lines), jug)
    for stir in card.stir:
        amount = (stirred_in or {}).get(stir.line.pk, stir.grams)
        _stir_in(stir.line, jug, amount, (lots or {}).get(stir.line.pk), key, by, filled_at)
    settle(batch=batch)
    figures = {"jug": jug.name, "grams": weight_in_words(grams)}
    record(by=by, subject=batch, what=gettext("Filled %(jug)s: %(grams)s of batter") % figures, at=filled_at)
    return jug


@transaction.atomic
def top_up(*, jug: Jug, grams: Decimal, key: UUID, by: User, at: datetime | None = None) -> Jug:
    """Adds plain batter to a jug that was filled, such as to make its colour lighter. Sent twice, it counts
    once. Raises NotOpen and ValidationError (fields 'grams' and 'at')."""
    require_maker(by)
    batch = lock(jug.batch)
    jug = Jug.objects.select_for_update().get(pk=jug.pk)
    if jug.key == key:
        return jug
    check_open(batch)
    if jug.grams is None:
        raise ValidationError(gettext("%(jug)s is empty: fill it first.") % {"jug": jug.name})
    _check_remains(grams, _board(batch, _lines(batch)))
    jug.grams, jug.key = jug.grams + grams, key
    jug.save(update_fields=["grams", "key"])
    figures = {"jug": jug.name, "grams": weight_in_words(grams)}
    record(
        by=by, subject=batch, what=gettext("Added %(grams)s of batter to %(jug)s") % figures, at=moment(at)
    )
    return jug


@transaction.atomic
def empty_jug(*, jug: Jug, by: User) -> Jug:
    """Takes back that a jug was filled or left out, with what was stirred in. Raises NotOpen."""
    require_maker(by)
    batch = lock(jug.batch)
    check_open(batch)
    kept = Jug.objects.select_for_update().filter(pk=jug.pk).first()
    if kept is None or kept.is_open:
        return kept or jug
    jug = kept
    jug.weighings.all().delete()
    jug.grams = jug.filled_at = jug.filled_by = jug.key = None
    jug.dropped = False
    if jug.planned is None:
        jug.delete()
    else:
        jug.save()
    settle(batch=batch)
    record(by=by, subject=batch, what=gettext("Emptied %(jug)s again") % {"jug": jug.name})
    return jug


@transaction.atomic
def leave_out(*, jug: Jug, by: User, at: datetime | None = None) -> Jug:
    """Goes on without a jug: the others share what remains as they were planned to. Raises NotOpen."""
    require_maker(by)
    batch = lock(jug.batch)
    check_open(batch)
    jug = Jug.objects.select_for_update().get(pk=jug.pk)
    if jug.dropped:
        return jug
    if jug.grams is not None:
        raise AlreadyWeighed(gettext("%(jug)s is filled already.") % {"jug": jug.name})
    jug.dropped = True
    jug.save(update_fields=["dropped"])
    settle(batch=batch)
    record(by=by, subject=batch, what=gettext("Left out %(jug)s") % {"jug": jug.name}, at=moment(at))
    return jug


@transaction.atomic
def add_jug(
    *,
    batch: Batch,
    name: str,
    grams: Decimal,
    key: UUID,
    by: User,
    destination: Destination = Destination.MOULD,
    colour: str = "",
    at: datetime | None = None,
) -> Jug:
    """Takes batter out for a portion that nobody had planned. Sent twice, it counts once.

    Raises NotOpen and ValidationError (fields 'name', 'grams', 'colour' and 'at').
    """
    require_maker(by)
    batch = lock(batch)
    if sent_before := Jug.objects.filter(key=key).first():
        return sent_before
    check_open(batch)
    _check_lye_mixed(batch)
    jugs = list(batch.jugs.all())
    if not name.strip():
        raise ValidationError({"name": gettext("Give it a name.")})
    if any(jug.name.casefold() == name.strip().casefold() for jug in jugs):
        raise ValidationError({"name": gettext("There is a jug called so already.")})
    if len(jugs) >= MOST_JUGS:
        raise ValidationError(gettext("More jugs than this nobody can keep apart."))
    if colour and not COLOUR.fullmatch(colour):
        raise ValidationError({"colour": gettext("Give the colour as # and six digits.")})
    _check_remains(grams, _board(batch, _lines(batch)))
    last = batch.jugs.aggregate(last=Max("position"))["last"] or 0
    jug = Jug(batch=batch, name=name.strip(), position=last + 1, destination=destination, colour=colour)
    jug.grams, jug.filled_at, jug.filled_by, jug.key = grams, moment(at), by, key
    jug.clean_fields(exclude=["batch", "filled_by", "planned"])
    jug.save()
    figures = {"jug": jug.name, "grams": weight_in_words(grams)}
    record(by=by, subject=batch, what=gettext("Took out %(grams)s for %(jug)s") % figures, at=jug.filled_at)
    return jug


def fill_as_planned(*, batch: Batch, at: datetime, by: User, key: UUID) -> None:
    """Fills every jug that is still open with what it would get. Belongs into the transaction of a pour."""
    while batch.jugs.filter(grams=None, dropped=False).exists():
        lines = _lines(batch)
        board = _board(batch, lines)
        card = board.open[0]
        if card.grams is None:
            raise ValidationError(board.trouble)
        jug = card.jug
        jug.grams, jug.filled_at, jug.filled_by, jug.key = card.grams, at, by, uuid5(key, f"jug {jug.pk}")
        jug.save()
        for stir in card.stir:
            _stir_in(stir.line, jug, stir.grams, None, jug.key, by, at)
        settle(batch=batch)


def board_of(batch: Batch) -> Splitting:
    """How its jugs stand. Raises ValidationError where it is not split."""
    return _board(batch, _lines(batch))


def settle(*, batch: Batch) -> None:
    """A line of what goes into jugs is done when no jug waits for it."""
    waiting = _materials_of(batch, [jug.name for jug in batch.jugs.all() if jug.is_open])
    batch.lines.filter(stage=Stage.JUG).update(done=True)
    batch.lines.filter(stage=Stage.JUG, material__in=waiting).update(done=False)


def _materials_of(batch: Batch, names: list[str]) -> set[int]:
    split = FrozenRecipe.from_json(batch.frozen).split
    portions = split.portions if split else ()
    return {into.material for portion in portions if portion.name in names for into in portion.into}


def _lines(batch: Batch) -> list[Line]:
    return list(batch.lines.select_related("material").prefetch_related("weighings"))


def _board(batch: Batch, lines: list[Line]) -> Splitting:
    board = splitting(FrozenRecipe.from_json(batch.frozen), lines, batch.jugs.all())
    if board is None:
        raise ValidationError(gettext("%(batch)s is not split into portions.") % {"batch": batch.code})
    return board


def _card(board: Splitting, jug: Jug) -> JugCard:
    return next(card for card in board.cards if card.jug.pk == jug.pk)


def _check_lye_mixed(batch: Batch) -> None:
    if batch.lye_mixed_at is None:
        raise ValidationError(gettext("Mix the lye first: there is no batter to split yet."))


def _check_remains(grams: Decimal, board: Splitting) -> None:
    if not (grams.is_finite() and grams > 0):
        raise ValidationError({"grams": gettext("Enter what the scale shows, more than zero.")})
    if grams > board.remains + board.batter * OFF_BY:
        words = gettext("There are only %(remains)s left in the bucket.")
        raise ValidationError({"grams": words % {"remains": weight_in_words(board.remains)}})


def _stir_in(
    line: Line, jug: Jug, amount: Decimal, lot: int | None, key: UUID, by: User, at: datetime
) -> None:
    """Notes weighings of so many grams, out of one lot or of those first to expire; of none where it is 0."""
    field = f"stir-{line.pk}"
    if not amount.is_finite() or amount < 0:
        raise ValidationError({field: gettext("Enter what the scale shows, or 0 for none.")})
    if not amount:
        return
    day = timezone.localdate(at)
    for number, (each, grams) in enumerate(draw_from_lots(line, amount, day, only=lot)):
        Weighing.objects.create(
            line=line, jug=jug, lot=each, quantity=grams, at=at, by=by, key=uuid5(key, f"{line.pk} {number}")
        )
