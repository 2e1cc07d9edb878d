"""The rescue tool for batches: it shows what is stored and changes nothing."""

from django.contrib import admin

from batches.models import (
    BarMovement,
    Batch,
    ColourReading,
    Cure,
    CureNote,
    Deed,
    Event,
    Jug,
    Line,
    NumberSeries,
    WeighIn,
    Weighing,
)
from soapshop.core.admin import ReadOnlyAdmin


@admin.register(Batch)
class BatchAdmin(ReadOnlyAdmin):
    list_display = ["code", "version", "state", "planned_for", "poured_at"]
    list_filter = ["state"]
    list_select_related = ["version__recipe"]
    search_fields = ["code", "version__recipe__name"]


@admin.register(Line)
class LineAdmin(ReadOnlyAdmin):
    list_display = ["batch", "position", "material", "planned", "done", "extra"]
    list_select_related = ["batch", "material"]
    search_fields = ["batch__code", "material__name"]


@admin.register(Weighing)
class WeighingAdmin(ReadOnlyAdmin):
    list_display = ["at", "line", "lot", "quantity", "by"]
    list_select_related = ["line__batch", "line__material", "lot", "by"]
    search_fields = ["line__batch__code", "lot__code"]


@admin.register(Jug)
class JugAdmin(ReadOnlyAdmin):
    list_display = ["batch", "position", "name", "destination", "planned", "grams", "filled_at", "dropped"]
    list_select_related = ["batch"]
    list_filter = ["destination", "dropped"]
    search_fields = ["batch__code", "name"]


@admin.register(Deed)
class DeedAdmin(ReadOnlyAdmin):
    list_display = ["received_at", "batch", "kind", "by", "done_at", "set_aside"]
    list_filter = ["set_aside", "kind"]
    list_select_related = ["batch", "by"]
    search_fields = ["batch__code", "words"]


@admin.register(Event)
class EventAdmin(ReadOnlyAdmin):
    list_display = ["at", "batch", "kind", "celsius", "words", "by"]
    list_select_related = ["batch", "by"]
    list_filter = ["kind"]
    search_fields = ["batch__code", "words"]


@admin.register(Cure)
class CureAdmin(ReadOnlyAdmin):
    list_display = ["batch", "started_on", "cut_on", "ready_on", "bars_cut", "bars_left", "ended_at"]
    list_select_related = ["batch"]
    search_fields = ["batch__code"]


@admin.register(CureNote)
class CureNoteAdmin(ReadOnlyAdmin):
    list_display = ["at", "cure", "by", "words"]
    list_select_related = ["cure__batch", "by"]
    search_fields = ["cure__batch__code", "words"]


@admin.register(ColourReading)
class ColourReadingAdmin(ReadOnlyAdmin):
    list_display = ["note", "jug", "card", "lightness", "a", "b", "at", "by"]
    list_select_related = ["note", "jug", "by"]
    search_fields = ["note__cure__batch__code", "jug__name"]


@admin.register(WeighIn)
class WeighInAdmin(ReadOnlyAdmin):
    list_display = ["on", "cure", "grams", "bars", "by"]
    list_select_related = ["cure__batch", "by"]
    search_fields = ["cure__batch__code"]


@admin.register(BarMovement)
class BarMovementAdmin(ReadOnlyAdmin):
    list_display = ["at", "cure", "kind", "count", "by", "reason"]
    list_select_related = ["cure__batch", "by"]
    list_filter = ["kind"]
    search_fields = ["cure__batch__code", "reason"]


@admin.register(NumberSeries)
class NumberSeriesAdmin(ReadOnlyAdmin):
    list_display = ["year", "last"]
