"""The chain of the apps, walked along the foreign keys of their models."""

from __future__ import annotations

from django.apps import apps
from django.db.models import Model

CHAIN = ["core", "inventory", "recipes", "batches"]


def points_to() -> set[tuple[str, str, str]]:
    """Every relation of our models: which model, which field, which app it points to."""
    return {
        (model._meta.label, field.name, field.related_model._meta.app_label)
        for label in CHAIN
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.get_fields()
        if field.is_relation and not field.auto_created and isinstance(field.related_model, type(Model))
    }


def test_there_are_relations_to_look_at():
    assert ("recipes.Ingredient", "material", "inventory") in points_to()
    assert ("batches.Batch", "version", "recipes") in points_to()


def test_a_model_points_to_its_own_app_or_to_one_below_it():
    up_the_chain = [
        (model, field, app)
        for model, field, app in points_to()
        if app in CHAIN and CHAIN.index(app) > CHAIN.index(apps.get_model(model)._meta.app_label)
    ]

    assert up_the_chain == []


def test_every_app_of_ours_is_in_the_chain():
    others = ("django", "axes", "template_partials")
    with_models = {
        config.label
        for config in apps.get_app_configs()
        if not config.name.startswith(others) and list(config.get_models())
    }

    assert with_models == set(CHAIN)
