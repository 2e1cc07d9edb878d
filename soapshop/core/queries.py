"""Reads that feed the pages of the workshop itself."""

from __future__ import annotations

from django.db import models
from django.db.models import QuerySet

from soapshop.core.models import History, User, Workshop
from soapshop.core.services.history import subject_of


def workshop() -> Workshop:
    """The one row of settings; the defaults, not yet stored, as long as nobody has set anything."""
    return Workshop.objects.filter(pk=Workshop.SINGLE).first() or Workshop(pk=Workshop.SINGLE)


def history_of(subject: models.Model, limit: int = 20) -> QuerySet[History]:
    """What was done to a thing, the newest first, with who did it."""
    return History.objects.filter(subject=subject_of(subject)).select_related("by")[:limit]


def people() -> QuerySet[User]:
    """Everyone with an account: those who may sign in first, each group by name."""
    return User.objects.order_by("-is_active", "username")


def anyone_here() -> bool:
    """Whether the workshop has any account yet."""
    return User.objects.exists()
