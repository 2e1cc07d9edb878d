from __future__ import annotations

import os
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.checks import run_checks

from soapshop.core import checks


def found(check) -> list[str]:
    messages = check(None)
    assert all(message.hint for message in messages)
    return [message.id for message in messages]


def test_all_of_them_run_and_the_settings_of_the_tests_pass():
    assert not [message for message in run_checks() if str(message.id).startswith("soapshop.")]


def test_the_checks_are_registered(settings):
    settings.ALLOWED_HOSTS = ["*"]

    assert "soapshop.W001" in [message.id for message in run_checks()]


def test_a_data_folder_that_is_not_there_is_an_error(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    assert found(checks.data_folder_is_writable) == []

    settings.DATA_DIR = tmp_path / "missing"
    assert found(checks.data_folder_is_writable) == ["soapshop.E001"]


@pytest.mark.parametrize(
    "host", ["http://soap.example", "soap.example:8000", "soap.example/", "", "two words"]
)
def test_a_host_that_can_never_match_is_an_error(settings, host):
    settings.ALLOWED_HOSTS = ["soap.example", host]

    assert found(checks.hosts_are_names) == ["soapshop.E002"]


@pytest.mark.parametrize(
    "host",
    ["soap.example", ".soap.example", "192.168.1.20", "[::1]", "[fe80::1]", "bench", "my_box.local", "*"],
)
def test_names_and_addresses_are_fine(settings, host):
    settings.ALLOWED_HOSTS = [host]

    assert found(checks.hosts_are_names) == []


def test_answering_to_every_name_is_warned_of(settings):
    settings.ALLOWED_HOSTS = ["soap.example"]
    assert found(checks.hosts_are_few) == []

    settings.ALLOWED_HOSTS = ["*"]
    assert found(checks.hosts_are_few) == ["soapshop.W001"]


def test_tls_without_a_proxy_that_says_so_is_warned_of(settings):
    settings.SECURE_SSL_REDIRECT, settings.SECURE_PROXY_SSL_HEADER = True, None
    assert found(checks.tls_has_its_proxy) == ["soapshop.W002"]

    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    assert found(checks.tls_has_its_proxy) == []


def test_sqlite_on_a_network_disk_is_warned_of(tmp_path, monkeypatch):
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/sda1 / ext4 rw 0 0\nserver:/soap {tmp_path}/share nfs4 rw 0 0\n")
    monkeypatch.setattr(checks, "MOUNTS", mounts)
    sqlite = {"ENGINE": "django.db.backends.sqlite3"}

    def found_for(**database):
        monkeypatch.setattr(checks, "settings", SimpleNamespace(DATABASES={"default": database}))
        return found(checks.database_is_on_this_machine)

    assert found_for(**sqlite, NAME=tmp_path / "share" / "soapshop.sqlite3") == ["soapshop.W003"]
    assert found_for(**sqlite, NAME=tmp_path / "soapshop.sqlite3") == []
    assert found_for(ENGINE="django.db.backends.postgresql", NAME="soapshop") == []


def test_where_the_disks_cannot_be_told_nothing_is_said(monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "MOUNTS", tmp_path / "missing")

    assert checks.disk_of(Path("/")) == ""


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps the folder of a user to that user")
def test_a_key_that_others_can_read_is_a_caution(settings, tmp_path):
    settings.TLS_DIR = tmp_path / "tls"
    assert found(checks.keys_are_private) == []

    settings.TLS_DIR.mkdir(mode=0o700)
    (settings.TLS_DIR / "issuer.pem").touch(mode=0o644)
    assert found(checks.keys_are_private) == []

    settings.TLS_DIR.chmod(0o755)
    assert found(checks.keys_are_private) == ["soapshop.W004"]

    (settings.TLS_DIR / "issuer.pem").chmod(0o600)
    assert found(checks.keys_are_private) == []
