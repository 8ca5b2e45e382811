"""The workbench in a real browser: looked at, scrubbed, changed and run again, compared, handed on, in both themes."""

import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tools.screens import served

sync_api = pytest.importorskip("playwright.sync_api", reason="make test-browser installs what this needs")
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "chrome"))), None)
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
LAYERS = "traces needs heat sheet compare setup modes reach cycle why energy scenes report".split()
LOOK = (
    "axe.run(document, {resultTypes: ['violations']}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html))"
)

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on PATH"),
]


@pytest.fixture(scope="session")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from bench_rig import make_study

    folder = make_study(tmp_path_factory.mktemp("study"))
    shutil.copytree(folder / "mine", folder / "mine_again")
    return folder


@pytest.fixture(scope="session")
def address(study: Path) -> Iterator[str]:
    with served([str(study)]) as found:
        yield found


@contextmanager
def a_page(browser: Any, address: str) -> Iterator[Any]:
    """A page of its own on a workbench, ready."""
    context = browser.new_context(bypass_csp=True)
    try:
        one = context.new_page()
        one.goto(address)
        one.wait_for_function("window.__ready")
        yield one
    finally:
        context.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as play:
        found = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture(params=["light", "dark"])
def page(request: pytest.FixtureRequest, browser: Any, address: str) -> Iterator[Any]:
    context = browser.new_context(
        color_scheme=request.param, viewport={"width": 1400, "height": 900}, bypass_csp=True, reduced_motion="reduce"
    )
    outside: list[str] = []
    faults: list[str] = []

    def watch(route: Any) -> None:
        if route.request.url.startswith((address, "data:", "blob:")):
            route.continue_()
        else:
            outside.append(route.request.url)
            route.abort()

    one = context.new_page()
    one.route("**/*", watch)
    one.on("pageerror", lambda fault: faults.append(str(fault)))
    one.goto(address)
    one.wait_for_selector("html[data-ready]", state="attached")
    one.wait_for_function("window.__ready")
    yield one
    context.close()
    assert outside == []
    assert faults == []


def open_layer(page: Any, key: str) -> None:
    page.evaluate("delete document.documentElement.dataset.ready")
    page.click(f"#tab-{key}")
    page.wait_for_selector(f"html[data-ready={key}]", state="attached")


def test_opens_with_bodies_needs_and_a_drawn_canvas(page: Any) -> None:
    assert page.locator(".car").count() >= 2
    assert page.locator(".car").first.locator("[data-need]").count() == 5
    assert "°C" in page.locator(".degrees").first.text_content()
    ink = "c => new Set(new Uint32Array(c.getContext('2d').getImageData(0, 0, c.width, c.height).data.buffer)).size"
    assert page.eval_on_selector("#modes", ink) > 3
    assert page.eval_on_selector(".uplot canvas", ink) > 3


def test_its_own_policy_lets_the_page_work(browser: Any, address: str) -> None:
    context = browser.new_context()
    one, said = context.new_page(), []
    one.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    one.goto(address)
    for key in LAYERS:
        one.click(f"#tab-{key}")
        one.wait_for_selector(f"html[data-ready={key}]", state="attached")
    context.close()
    assert said == []


def test_keyboard_moves_the_instant_and_what_stands_on_it(page: Any) -> None:
    before = page.locator(".car").first.locator(".degrees").all_text_contents()
    page.focus("#scrub")
    page.keyboard.press("End")
    assert page.text_content("#time") == "0:02:00"
    assert page.locator(".car").first.locator(".degrees").all_text_contents() != before
    page.keyboard.press("ArrowLeft")
    assert page.text_content("#time") == "0:01:00"
    page.keyboard.press("Home")
    assert page.text_content("#time") == "0:00:00"
    page.keyboard.press("]")
    assert page.text_content("#time") != "0:00:00"
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Space")
    page.wait_for_function("window.__bench.at > 60")


def test_a_number_is_changed_run_and_set_beside(page: Any) -> None:
    cards = page.locator(".picks label").count()
    page.select_option("#wi-plant", "mine")
    page.fill("#wi-key", "pack.heat_capacity")
    page.fill("#wi-value", "3 km")
    page.click("#whatif .go")
    page.wait_for_selector("#trouble .problems")
    page.fill("#wi-value", "500 kJ/K")
    page.click("#whatif .go")
    page.wait_for_function(f"document.querySelectorAll('.picks label').length > {cards}", timeout=60_000)
    assert page.locator("#trouble .problems").count() == 0
    assert "500 kJ/K" in page.locator(".changed").last.text_content()
    told = page.text_content(".difference")
    assert "kWh/100 km" in told
    assert "against" in told
    page.click(".difference .go")
    page.wait_for_selector("html[data-ready=compare]", state="attached")
    assert page.locator(".car").count() == 2
    assert "(" in page.locator(".sides td").last.text_content()
    assert page.locator(".difference").count() == 0


def test_a_run_can_be_stopped(page: Any) -> None:
    open_layer(page, "setup")
    page.locator("#layer select").nth(1).select_option("winter_day")
    cards = page.locator(".picks label").count()
    page.click("text=Run with these")
    page.wait_for_selector(".job .cancel")
    page.click(".job .cancel")
    page.wait_for_selector(".job", state="detached")
    time.sleep(1.0)
    assert page.locator(".picks label").count() == cards


def test_a_broken_plant_file_is_told_in_place_and_mends(page: Any, study: Path) -> None:
    open_layer(page, "setup")
    rows = page.locator(".field").count()
    file = study / "mine.plant.toml"
    whole = file.read_text()
    try:
        file.write_text(whole + '[pack]\nenergie = "3 km"\n')
        page.wait_for_selector("#layer .problems li")
        assert "mine.plant.toml:5" in page.text_content("#layer .problems")
        assert page.locator(".field").count() == rows
        assert page.locator(".car .degrees").first.text_content()
    finally:
        file.write_text(whole)
    page.wait_for_selector("#layer .problems", state="detached")


def test_a_run_that_fails_says_why_in_a_sentence(page: Any, study: Path) -> None:
    file = study / "mine.plant.toml"
    whole = file.read_text()
    cards = page.locator(".picks label").count()
    open_layer(page, "setup")
    page.locator("#layer select").nth(0).select_option("plain")
    page.locator("#layer select").nth(1).select_option("winter_day")
    page.click("text=Run with these")
    page.wait_for_selector(".job .cancel")
    page.locator("#layer select").nth(0).select_option("mine")
    page.locator("#layer select").nth(1).select_option("short")
    page.click("text=Run with these")
    page.wait_for_function("document.querySelectorAll('.job').length > 1")
    try:
        file.write_text(whole + "[pack\n")
        page.locator(".job .cancel").first.click()
        page.wait_for_selector(".job[data-state=failed]")
        reason = page.text_content(".job[data-state=failed] .reason")
        assert "mine.plant.toml" in reason
        assert page.locator(".car .degrees").first.text_content()
    finally:
        file.write_text(whole)
    page.wait_for_selector("#layer .problems", state="detached")
    page.click(".job[data-state=failed] button")
    assert page.locator(".job[data-state=failed]").count() == 0
    assert page.locator(".picks label").count() == cards


def test_a_march_that_breaks_half_way_is_told_and_the_queue_goes_on(browser: Any, tmp_path: Path) -> None:
    """The reason in one sentence, with when; the run behind it comes; of the broken one nothing is left."""
    from bench_rig import PLANT, TWO_LEGS

    study = tmp_path / "study"
    study.mkdir()
    (study / "mine.plant.toml").write_text(PLANT)
    (study / "two.trip.toml").write_text(TWO_LEGS)
    first = (
        f"import sys; sys.path.insert(0, {str(Path(__file__).parents[1])!r}); from pathlib import Path\n"
        f"import bench_rig; bench_rig.break_marches(Path({str(tmp_path)!r}))"
    )
    with served([str(study)], first) as address, a_page(browser, address) as one:
        open_layer(one, "setup")
        one.locator("#layer select").nth(0).select_option("mine")
        one.locator("#layer select").nth(1).select_option("two")
        one.wait_for_selector("#layer h3:has-text('Plant: Mine')")
        one.wait_for_selector("#layer h3:has-text('Trip: Two legs')")
        one.fill("#f-plant-pack-heat_capacity", "500 kJ/K")
        one.keyboard.press("Tab")
        one.click("text=Run with these")
        one.wait_for_selector(".job")
        one.click("text=Take changes back")
        one.click("text=Run with these")
        one.wait_for_selector(".job[data-state=failed]", timeout=120_000)
        reason = one.text_content(".job[data-state=failed] .reason")
        assert reason.endswith(
            "after 60 s of the trip: a temperature was lost; the plant is outside what the models can bear"
        )
        one.wait_for_selector(".car", timeout=60_000)
        assert one.locator(".car h3").all_text_contents() == ["Mine Two legs"]
        assert one.locator(".job[data-state=failed]").count() == 1
        assert sorted(place.name for place in (study / "made").iterdir()) == ["run_1"]


def test_traces_are_told_apart_and_read_at_the_instant(page: Any) -> None:
    """A line of the legend is dashed as its trace is, and says what the card of its run says."""
    for k in range(2):
        page.locator(".picks input").nth(k).set_checked(True)
    open_layer(page, "traces")
    page.focus("#scrub")
    page.keyboard.press("End")
    row = ".u-legend .u-series:has-text('cabin air')"
    degrees = page.locator(".car").first.locator(".degrees").last.text_content()
    page.wait_for_function("words => document.querySelector('.u-legend').textContent.includes(words)", arg=degrees)
    assert degrees in page.locator(row).first.text_content()
    assert "0:02:00" in page.locator(".u-legend .u-series").first.text_content()
    looks = page.locator(f"{row} .u-marker").evaluate_all("all => all.map(one => one.style.background)")
    assert len(set(looks)) == len(looks) >= 2
    names = page.locator(".tracks span").all_text_contents()
    assert len(set(names)) == len(names) == page.locator(".car").count()


def test_no_value_of_a_form_is_cut_off(page: Any) -> None:
    open_layer(page, "setup")
    page.evaluate("document.querySelectorAll('#layer details').forEach(one => { one.open = true; })")
    cut = "all => all.filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.id + ' ' + one.value)"
    assert page.locator(".field input").evaluate_all(cut) == []


def test_a_number_of_the_trip_is_changed_marked_and_run(page: Any) -> None:
    open_layer(page, "setup")
    page.locator("#layer select").nth(0).select_option("mine")
    page.locator("#layer select").nth(1).select_option("short")
    drivers = page.locator("#layer select").nth(2).locator("option")
    assert [one.get_attribute("value") for one in drivers.all()] == ["table", "rules", "dispatch"]
    page.fill("#layer input[type=search]", "weather.temperature")
    field = page.locator(".field", has_text="weather.temperature")
    assert "-60 to 60 degC" in field.text_content()
    assert "short.trip.toml:7" in field.text_content()
    page.fill("#f-trip-weather-temperature", "3 km")
    page.keyboard.press("Tab")
    page.wait_for_selector("#layer .problems li")
    page.fill("#f-trip-weather-temperature", "3 degC")
    page.keyboard.press("Tab")
    page.wait_for_selector("#layer .problems", state="detached")
    assert field.get_attribute("data-changed") == "true"
    assert "was -7 degC" in field.text_content()
    assert "weather.temperature: -7 degC → 3 degC" in page.text_content(".diff")
    page.click("text=Run with these")
    page.wait_for_selector('.changed:has-text("weather.temperature = 3 degC")', timeout=60_000)


def test_verdicts_are_asked_for_and_told(page: Any) -> None:
    picks = page.locator(".picks input")
    for k in reversed(range(picks.count())):
        picks.nth(k).set_checked(k < 2)
    open_layer(page, "compare")
    if page.locator(".verdicts .go").count():
        page.click(".verdicts .go")
        page.wait_for_selector(".better", timeout=120_000)
    assert "need the same energy" in page.text_content(".better")
    page.locator(".verdicts summary").first.click()
    assert "same" in page.locator("td[data-verdict]").first.text_content()
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    assert page.evaluate(LOOK) == []


def test_an_address_shows_the_same_again(page: Any, address: str) -> None:
    page.goto(f"{address}layers/heat?runs=r1&at=60")
    page.wait_for_selector("html[data-ready=heat]", state="attached")
    assert page.locator(".car").count() == 1
    assert page.text_content("#time") == "0:01:00"
    open_layer(page, "needs")
    page.wait_for_function("location.pathname == '/layers/needs'")
    page.focus("#scrub")
    page.keyboard.press("End")
    page.wait_for_function("location.search.includes('at=120')")
    page.reload()
    page.wait_for_selector("html[data-ready=needs]", state="attached")
    assert page.text_content("#time") == "0:02:00"
    page.go_back()
    page.wait_for_selector("html[data-ready=heat]", state="attached")
    assert page.get_attribute("#tab-heat", "aria-selected") == "true"


def test_a_layer_is_told_without_scripts_too(browser: Any, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    one = context.new_page()
    for key in LAYERS:
        one.goto(f"{address}layers/{key}?runs=r0,r1&at=60")
        assert one.locator("#layer .question").count() == 1
        assert one.locator("#layer table, #layer li, #layer p").count() > 0
    context.close()


def test_scenes_are_added_ordered_changed_and_kept(page: Any, address: str) -> None:
    open_layer(page, "scenes")
    if page.locator("text=Back to the list it began with").is_enabled():
        page.click("text=Back to the list it began with")
        page.wait_for_selector("text=The list to begin with")
    titles = page.locator(".scenes h3").all_text_contents()
    page.focus("#scrub")
    page.keyboard.press("End")
    page.click("text=Add a scene")
    page.wait_for_function(f"document.querySelectorAll('.scenes li').length == {len(titles) + 1}")
    last = page.locator(".scenes li").last
    last.locator("textarea").fill("At {time} the pack has {pack}.")
    last.locator("textarea").blur()
    page.wait_for_function("[...document.querySelectorAll('.scenes p')].pop().textContent.includes('the pack has')")
    assert "{" not in page.locator(".scenes li").last.locator("p").first.text_content()
    page.locator(".scenes li").last.locator("textarea").fill("{nonsense}")
    page.locator(".scenes li").last.locator("textarea").blur()
    page.wait_for_selector("#layer .problems li")
    page.locator("[aria-label^=Earlier]").last.click()
    page.wait_for_function(f"[...document.querySelectorAll('.scenes h3')].pop().textContent == {titles[-1]!r}")
    page.locator("[aria-label^='Take out']").first.click()
    page.wait_for_function(f"document.querySelectorAll('.scenes li').length == {len(titles)}")
    kept = page.locator(".scenes h3").all_text_contents()
    assert kept == [*titles[1:-1], "At 0:02:00", titles[-1]]
    page.goto(f"{address}layers/scenes")
    page.wait_for_selector("html[data-ready=scenes]", state="attached")
    assert page.locator(".scenes h3").all_text_contents() == kept
    page.locator(".scenes .show").first.click()
    page.wait_for_selector(".scene")
    page.click("text=Next ›")
    page.wait_for_function(f"document.querySelector('.scene b').textContent.includes({kept[1]!r})")
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    assert page.evaluate(LOOK) == []
    page.click(".scene >> text=End")
    page.wait_for_selector("html[data-ready=scenes]", state="attached")


def test_a_report_is_handed_on_with_the_sections_chosen(page: Any, tmp_path: Path) -> None:
    open_layer(page, "report")
    page.uncheck("label:has-text('Ledger and health') input")
    page.uncheck("label:has-text('Comfort and service') input")
    assert page.locator("label:has-text('Cautions') input").is_disabled()
    with page.expect_download() as got:
        page.click("text=Save as one HTML file")
    got.value.save_as(tmp_path / "report.html")
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "Two minutes" in text
    assert "<svg" in text
    assert 'id="ledger"' not in text
    assert 'id="comfort"' not in text
    assert 'id="cautions"' in text
    with page.expect_download(timeout=90_000) as got:
        page.click("text=Save as PDF")
    got.value.save_as(tmp_path / "report.pdf")
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_chromium_the_page_says_how_to_print(page: Any, address: str) -> None:
    offer = page.evaluate("fetch('/report.json').then(r => r.json())")
    page.route("**/report.json", lambda route: route.fulfill(json={**offer, "prints": False, "how": "Print it so."}))
    page.goto(f"{address}layers/report")
    page.wait_for_selector("html[data-ready=report]", state="attached")
    assert page.locator("text=Save as PDF").count() == 0
    assert page.text_content(".how") == "Print it so."


def test_a_number_of_the_demo_is_changed_and_the_difference_seen_within_ten_seconds(browser: Any) -> None:
    """As a first-time user does it: one number typed over, one button; the demo lies in the cache by then."""
    with served([]) as address, a_page(browser, address) as one:
        one.wait_for_timeout(4000)
        seconds = []
        for value in ("500 kJ/K", "600 kJ/K"):
            one.fill("#wi-value", value)
            began = time.monotonic()
            one.click("#whatif .go")
            one.wait_for_selector(f".difference:has-text('{value}')", timeout=60_000)
            seconds.append(time.monotonic() - began)
        print(f"changed, run and told: {', '.join(f'{s:.1f} s' for s in seconds)}")
        assert min(seconds) < 10.0


@pytest.mark.parametrize("key", LAYERS)
def test_no_screen_keeps_a_reader_out(page: Any, key: str) -> None:
    open_layer(page, key)
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    assert page.evaluate(LOOK) == []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0


def test_a_part_of_the_sheet_tells_its_figures(page: Any) -> None:
    """By pointer and by keyboard; the figures follow the instant, the focus stays, and no reader is kept out."""
    open_layer(page, "sheet")
    page.click("text=The plumbing")
    page.locator("#part-heater").first.wait_for()
    page.locator("#part-heater").first.click()
    assert "coolant heater" in page.locator(".figures").first.text_content()
    page.keyboard.press("Tab")
    named = page.evaluate("document.activeElement.dataset.part")
    assert named
    assert named != "heater"
    words = named.replace("_", " ")
    assert words in page.locator(".figures h3").first.text_content()
    page.evaluate("delete document.documentElement.dataset.ready")
    page.keyboard.press("End")
    page.wait_for_selector("html[data-ready=sheet]", state="attached")
    assert page.evaluate("document.activeElement.dataset.part") == named
    assert words in page.locator(".figures h3").first.text_content()
    page.evaluate(AXE.read_text(encoding="utf-8") + ";0")
    assert page.evaluate(LOOK) == []


def test_a_layout_is_refined_on_demand_and_can_be_stopped(page: Any) -> None:
    open_layer(page, "sheet")
    page.click("text=The plumbing")
    page.locator(".layout button").first.click()
    page.wait_for_selector(".layout progress")
    page.click(".layout button:has-text('Stop')")
    page.wait_for_selector(".layout progress", state="detached")
    assert "crossing" in page.locator(".layout").first.text_content()
