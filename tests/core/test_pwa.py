"""What makes the app one that is installed: manifest, icons, service worker, and the page for no network."""

from __future__ import annotations

import json
import re
from io import BytesIO
from pathlib import Path

import pytest
from django.conf import settings
from django.templatetags.static import static
from django.test import Client
from django.urls import reverse
from PIL import Image

from soapshop.core.views import pwa
from soapshop.static_files import StaticFilesStorage
from tests.factories import WorkshopFactory

STATIC = Path(settings.BASE_DIR) / "soapshop" / "static"
SCRIPTS = STATIC / "soapshop" / "js"
LOADS = re.compile(r"""(?:from|import)\s*\(?["'](\.[^"']+)["']""")
MODULES_OF = {"offline.html": "pocket/kept.js", "batches/_pocket_scripts.html": "pocket/main.js"}


@pytest.fixture
def manifest(db) -> dict:
    WorkshopFactory(name="Lindenbath Soap")
    answer = Client().get(reverse("core:manifest"))
    assert answer["Content-Type"] == "application/manifest+json"
    return answer.json()


def test_the_app_is_installed_under_the_name_of_the_workshop(manifest):
    assert manifest["name"] == "Lindenbath Soap"
    assert len(manifest["short_name"]) <= pwa.LONGEST_SHORT_NAME
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/", "/", "standalone")


def test_a_short_name_of_a_workshop_stands_under_the_icon(db):
    WorkshopFactory(name="Fennel")

    assert Client().get(reverse("core:manifest")).json()["short_name"] == "Fennel"


def test_icons_are_pictures_of_the_size_they_say(manifest):
    shortcuts = [icon for shortcut in manifest["shortcuts"] for icon in shortcut["icons"]]
    icons = [*manifest["icons"], *shortcuts]
    sizes = [f"{picture.width}x{picture.height}" for picture in map(picture_of, icons)]

    assert sizes == [icon["sizes"] for icon in icons]
    assert {"192x192", "512x512"} <= set(sizes)
    assert "maskable" in {icon["purpose"] for icon in icons}


def picture_of(icon: dict[str, str]) -> Image.Image:
    return Image.open(BytesIO((STATIC / icon["src"].removeprefix(settings.STATIC_URL)).read_bytes()))


def test_what_a_round_mask_cuts_off_of_the_icon_is_only_ground():
    """The safe zone: a circle of 40 % of the side about the middle (W3C, appmanifest, purpose 'maskable')."""
    icon = picture_of({"src": "soapshop/icons/app-maskable-512.png"}).convert("RGB")
    ground = icon.getpixel((0, 0))
    outside = [
        (x, y) for x in range(0, 512, 4) for y in range(0, 512, 4) if (x - 256) ** 2 + (y - 256) ** 2 > 205**2
    ]

    assert {icon.getpixel(place) for place in outside} == {ground}
    assert icon.getpixel((256, 256)) != ground


def test_shortcuts_lead_to_pages(manifest, maker, client_of):
    addresses = {shortcut["name"]: shortcut["url"] for shortcut in manifest["shortcuts"]}

    assert list(addresses) == ["Pour", "Rack", "Shelf", "Stock"]
    assert {client_of(maker).get(address).status_code for address in addresses.values()} == {200}


def test_its_colours_are_those_of_the_tokens(manifest):
    tokens = (STATIC / "soapshop/css/tokens.css").read_text()

    assert manifest["background_color"] == manifest["theme_color"] == pwa.PAPER
    assert f"--paper: {pwa.PAPER};" in tokens


def test_every_page_names_the_manifest_and_the_colours_of_paper(db):
    page = Client().get(reverse("core:sign_in"), follow=True).text
    papers = re.findall(r"--paper: (#\w+);", (STATIC / "soapshop/css/tokens.css").read_text())

    assert f'<link rel="manifest" href="{reverse("core:manifest")}">' in page
    assert set(re.findall(r'name="theme-color" content="(#\w+)"', page)) == set(papers)


# --- the worker ---------------------------------------------------------------------------------------------


@pytest.fixture
def worker(db) -> str:
    answer = Client().get(reverse("core:service_worker"))
    assert answer["Content-Type"] == "text/javascript"
    return answer.text


def known_to(worker: str) -> dict:
    found = re.match(r"self\.soapshop = (\{.*\});\n", worker)
    assert found
    return json.loads(found[1])


def test_the_worker_stands_at_the_top_and_loads_scripts_of_ours_only(worker):
    scripts = re.findall(r'"([^"]+\.js)"', worker.splitlines()[1])

    assert reverse("core:service_worker").count("/") == 1
    assert scripts == [static(name) for name in pwa.OF_THE_WORKER]
    assert all((STATIC / name).exists() for name in pwa.OF_THE_WORKER)


def test_it_keeps_the_page_for_no_network_with_all_its_files(worker):
    known = known_to(worker)
    page = Client().get(known["offline"]).text

    assert set(known["files"]) == set(re.findall(r'(?:href|src)="(/static/[^"#]+)', page))
    assert {"/static/soapshop/js/pocket/kept.js", "/static/soapshop/css/tokens.css"} <= set(known["files"])


def test_a_changed_page_makes_a_new_worker(worker, monkeypatch):
    monkeypatch.setattr(pwa, "render_to_string", lambda name: "<h1>Another page</h1>")

    assert Client().get(reverse("core:service_worker")).text != worker


def test_without_a_change_the_worker_is_the_same(worker):
    assert Client().get(reverse("core:service_worker")).text == worker


def test_where_files_keep_their_names_every_visit_brings_a_new_worker(worker, settings):
    settings.DEBUG = True

    assert len({Client().get(reverse("core:service_worker")).text for _ in range(2)}) == 2


def test_the_page_for_no_network_holds_nothing_private(maker, client_of):
    page = client_of(maker).get(reverse("core:offline")).text

    assert page == Client().get(reverse("core:offline")).text
    assert maker.name not in page
    assert "csrf" not in page


# --- modules ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("template", "first"), MODULES_OF.items())
def test_a_page_that_is_kept_names_every_module_it_needs(template, first):
    page = (Path(settings.BASE_DIR) / "templates" / template).read_text()
    named = re.findall(r'static "(soapshop/(?:js|vendor)/[^"]+)"', page)

    assert sorted(named) == sorted(modules_from(f"soapshop/js/{first}"))


def modules_from(name: str) -> set[str]:
    """A module and all that it loads, and that these load."""
    found, to_read = set(), [name]
    while to_read:
        module = to_read.pop()
        if module not in found:
            found.add(module)
            folder = (STATIC / module).parent
            to_read += [
                str((folder / path).resolve().relative_to(STATIC))
                for path in LOADS.findall((STATIC / module).read_text())
            ]
    return found


def test_stored_modules_name_each_other_by_their_content(tmp_path, settings):
    settings.STATIC_ROOT = tmp_path
    storage = StaticFilesStorage()
    paths = {}
    for file in [*SCRIPTS.rglob("*.js"), *STATIC.glob("soapshop/vendor/*.js")]:
        name = str(file.relative_to(STATIC))
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(file.read_bytes())
        paths[name] = (storage, name)
    problems = [problem for *_, problem in storage.post_process(paths) if isinstance(problem, Exception)]
    main = (tmp_path / storage.stored_name("soapshop/js/pocket/main.js")).read_text()

    assert problems == []
    assert len(LOADS.findall(main)) > 8
    assert all(re.search(r"\.[0-9a-f]{12}\.js$", path) for path in LOADS.findall(main))


def test_libraries_of_others_stand_with_their_versions_and_licences():
    folder = STATIC / "soapshop" / "vendor"
    listed = re.findall(
        r"^\| `([\w.-]+)` .* `([\w.-]+-licence\.txt)`", (folder / "README.md").read_text(), re.M
    )

    assert {file for file, _ in listed} == {file.name for file in folder.glob("*.js")}
    assert all((folder / licence).exists() for _, licence in listed)
    assert not any("sourceMappingURL" in file.read_text() for file in folder.glob("*.js"))
