"""Other ways through a pour: as planned, undone, without JavaScript, not safe, and two phones at once."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import resolve, reverse
from playwright.sync_api import Page, expect

from batches.models import Batch, Cure, State
from inventory.models import Lot
from inventory.services.reconcile import reconcile
from tests.architecture.pages import MAKER, PAGES, VIEWER, make_cast
from tests.batches.bench import Bench, bench
from tests.browser.conftest import Browsers
from tests.browser.scenes import on, weigh_lines
from tests.browser.steps import follow, go_to, main, mix_lye, press, weigh
from tests.factories import LotFactory, OwnerFactory, UserFactory, VersionFactory, design, part

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(transactional_db: None) -> Bench:
    return bench()


def test_poured_as_planned_and_taken_back(browsers: Browsers, shop: Bench) -> None:
    page = browsers.phone(shop.maker)
    page.goto(reverse("batches:pour"))
    follow(page, "Four oils")
    press(page, "Poured as planned")
    expect(page.get_by_role("table")).to_contain_text("Olive oil")
    press(page, "Poured")
    expect(main(page)).to_contain_text("Cure, day 0")
    assert (shop.on_hand("Olive oil"), shop.on_hand("Lye")) == (4550, 4857)

    follow(page, "Undo the pour")
    expect(main(page)).to_contain_text("go back into their lots")
    page.get_by_label("Why").fill("The wrong recipe.")
    press(page, "Undo the pour")

    expect(main(page)).to_contain_text("everything is back in its lots")
    assert {lot.on_hand for lot in Lot.objects.all()} == {Decimal(5000)}
    assert (Batch.objects.get().state, reconcile()) == (State.UNDONE, [])
    go_to(page, "Rack")
    expect(main(page)).to_contain_text("The rack is empty")


def test_a_pour_needs_no_javascript(browsers: Browsers, shop: Bench) -> None:
    page = browsers.phone(shop.maker, java_script_enabled=False)
    page.goto(reverse("batches:plan", args=[shop.version.pk]))
    page.get_by_role("radio", name="Fats").tap()
    page.get_by_label("Bars, weight or mould").fill("2 kg")
    press(page, "Work it out")
    expect(page.locator("#result")).to_contain_text("20 bars")
    press(page, "Start weighing")
    for material, shown in [("Olive oil", "900 g"), ("Coconut oil", "500 g"), ("Palm oil", "500 g")]:
        weigh(page, material, shown)
    follow(page, "Other weight")
    page.get_by_label("The scale shows").fill("three drops")
    press(page, "Weighed")
    expect(page.get_by_label("The scale shows")).to_have_value("three drops")
    expect(page.get_by_label("The scale shows")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("The scale shows").fill("99")
    press(page, "Weighed")
    weigh(page, "Water", "582 g")
    weigh(page, "Lye", "286 g")
    mix_lye(page)
    weigh(page, "Scent", "40 g")
    press(page, "Poured")

    expect(main(page)).to_contain_text("Cure, day 0")
    assert (shop.on_hand("Olive oil"), shop.on_hand("Castor oil")) == (4100, 4901)
    assert Cure.objects.count() == 1


def test_two_phones_pour_the_last_500_g_and_one_is_told(browsers: Browsers, transactional_db: None) -> None:
    makers = [UserFactory(), UserFactory()]
    only_fat, lye, water = part(100), part(100, naoh=True), part(100, liquid=True)
    last = LotFactory(material=only_fat.material, quantity=500)
    for plenty in (lye, water):
        LotFactory(material=plenty.material)
    version = VersionFactory(design=design(only_fat, lye, water, size_grams=Decimal(500)))
    phones = [ready_to_pour(browsers, Bench(maker, version, {}, {})) for maker in makers]

    for phone in phones:
        phone.get_by_role("button", name="Poured", exact=True).tap()

    told = re.compile(rf"{last.code} .* holds 0\sg")
    for phone in phones:
        expect(
            main(phone).get_by_text("Cure, day 0").or_(main(phone).get_by_text(told)).first
        ).to_be_visible()
    assert sorted(main(phone).get_by_text(told).count() > 0 for phone in phones) == [False, True]
    assert (Lot.objects.get(pk=last.pk).on_hand, Cure.objects.count(), reconcile()) == (0, 1, [])


def ready_to_pour(browsers: Browsers, shop: Bench) -> Page:
    """A phone with everything weighed and the lye mixed."""
    batch = shop.plan()
    weigh_lines(batch, 3, shop.maker)
    page = browsers.phone(shop.maker)
    page.goto(on(batch, "lye"))
    mix_lye(page)
    expect(page.get_by_role("button", name="Poured", exact=True)).to_be_enabled()
    return page


def test_what_is_not_safe_only_an_owner_pours_and_says_why(browsers: Browsers, shop: Bench) -> None:
    batch = shop.plan()
    weigh_lines(batch, 6, shop.maker, lye=Decimal(175))
    maker, owner = browsers.phone(shop.maker), browsers.phone(OwnerFactory())
    maker.goto(on(batch, "lye"))
    expect(maker.locator(".safety-verdict")).to_have_text("Stop")
    mix_lye(maker)
    weigh(maker, "Scent", "20 g")
    expect(main(maker)).to_contain_text("Only an owner can let this be poured")
    press(maker, "Poured")
    expect(main(maker).get_by_role("alert")).to_be_visible()
    assert (Batch.objects.get().state, shop.on_hand("Olive oil")) == (State.PLANNED, 5000)

    owner.goto(on(batch, "confirm"))
    press(owner, "Poured")
    reason = owner.get_by_label("Why it shall be poured all the same")
    expect(reason).to_have_attribute("aria-invalid", "true")
    reason.fill("For cleaning the floor only.")
    press(owner, "Poured")

    expect(main(owner)).to_contain_text("Cure, day 0")
    expect(main(owner)).to_contain_text("For cleaning the floor only.")
    assert (Batch.objects.get().state, shop.on_hand("Lye")) == (State.POURED, 4825)


def test_a_viewer_is_offered_nothing_to_do(browsers: Browsers, transactional_db: None) -> None:
    cast = make_cast()
    page = browsers.phone(cast.viewer)
    offered = {}
    for name, shown in PAGES.items():
        if shown.least == VIEWER and shown.html and name != "core:account":
            page.goto(shown.address(name, cast))
            offered[name] = [*forms_to_send(page), *links_to_makers_pages(page)]

    assert len(offered) > 12
    assert {name: found for name, found in offered.items() if found} == {}


def forms_to_send(page: Page) -> list[str]:
    return [form.inner_text() for form in main(page).locator("form[method=post]").all()]


def links_to_makers_pages(page: Page) -> list[str]:
    paths: list[str] = main(page).locator("a").evaluate_all("all => all.map((one) => one.pathname)")
    return [path for path in paths if PAGES[resolve(path).view_name].least >= MAKER]


def test_a_maker_is_offered_what_a_viewer_is_not(browsers: Browsers, transactional_db: None) -> None:
    cast = make_cast()
    page = browsers.phone(cast.maker)
    page.goto(on(cast.poured, "batch"))

    assert on(cast.poured, "cut") in links_to_makers_pages(page)
    assert forms_to_send(page)
