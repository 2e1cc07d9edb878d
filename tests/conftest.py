"""What every test may ask for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client

from soapshop.core.models import User, Workshop
from tests import factories


@pytest.fixture(autouse=True)
def _own_media_folder(settings, tmp_path: Path) -> None:
    """No test sees another's photos."""
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def owner(db) -> User:
    return factories.OwnerFactory()


@pytest.fixture
def maker(db) -> User:
    return factories.UserFactory()


@pytest.fixture
def viewer(db) -> User:
    return factories.ViewerFactory()


@pytest.fixture
def workshop(db) -> Workshop:
    return factories.WorkshopFactory()


@pytest.fixture
def client_of() -> Callable[[User], Client]:
    """A browser in which someone is signed in: `client_of(maker).get(...)`."""

    def signed_in(user: User) -> Client:
        client = Client()
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return signed_in
