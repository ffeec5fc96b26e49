"""The pages in a real browser: quiet console, no request, read by key, pointer and finger, narrow, wide, dark, on paper."""

import base64
import os
import re
import shutil
import socket
import sys
import tempfile
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.records import Records
from panchime.report.folder import write_folder
from panchime.report.index_page import index_page, rows_in

sys.path.insert(0, str(Path(__file__).parents[1] / "host"))
from made_roast import BEANS_IN_MS, BEANS_OUT_MS, PLAN, made_roast

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
DRIVER = shutil.which("chromedriver")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PLAN_NAME = "<script>document.title = 'taken'</script>"
WIDTHS = (360, 1280)
BRIEF = "long/roast.html#1"
PAGES = ("roast.html", "tripped.html", "compare.html", "all/index.html", "all/roast-1.html", "long/index.html", BRIEF)
CHARTS = ("roast.html", "tripped.html", "compare.html", "all/roast-1.html", BRIEF)
ROAST_MS = BEANS_OUT_MS - BEANS_IN_MS


def test_browser_is_there():
    if CHROMIUM and DRIVER:
        return
    reason = "no chromium and chromedriver on the path: Debian's packages chromium and chromium-driver have them"
    assert not os.environ.get("CI"), reason
    pytest.skip(reason)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with the pages of a few roasts."""
    from panchime_fw import events, faults

    home = tmp_path_factory.mktemp("pages")
    tripped = [
        (BEANS_IN_MS, events.MARK, 0, events.PRESSED, BEANS_IN_MS),
        (250_000, events.RELAY, 1, 0, 0),
        (650_000, events.TRIP, 1, 24600, 24500),
        (650_000, events.RELAY, 0, 0, 0),
    ]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PANCHIME_HOME", str(home / "home"))
        patch.chdir(home)
        with Journal() as journal:
            for raw in (
                made_roast(plan=PLAN | {"name": PLAN_NAME, "guide": [[60, 100], [600, 210]]}),
                made_roast(tripped, faults=[(300_000, 312_000, faults.OPEN)], boot=41),
                made_roast(boot=42, plan=PLAN | {"method": "wok"}),
            ):
                journal.keep("1.roast", raw, summarise(tell(raw), running=False))
            records = Records(journal)
            records.roasts.add_note(1, f"Windy. {PLAN_NAME} " + "unbroken" * 40)
            records.roasts.say(1, green_mg=250_000, roasted_mg=214_000)
            records.roasts.say(3, green_mg=250_000, roasted_mg=220_000)
        assert main(["report", "1", "-o", "roast.html"]) == 0
        assert main(["report", "2", "-o", "tripped.html"]) == 0
        assert main(["compare", "1", "3", "-o", "compare.html"]) == 0
        assert main(["report", "--all", "-o", "all"]) == 0
        with Journal() as journal:
            write_folder(journal, Path("long"), None, whole_pages=1)
    return home


def uri(folder, name):
    """The address of a page of the folder; what stands after # is no part of the file's name."""
    file, _, fragment = name.partition("#")
    return (folder / file).as_uri() + (f"#{fragment}" if fragment else "")


@pytest.fixture(scope="module")
def browser():
    """Chromium with a profile of its own."""
    if not (CHROMIUM and DRIVER):
        assert not os.environ.get("CI"), "in CI the browser must be there"
        pytest.skip("no chromium and chromedriver on the path")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    profile = tempfile.mkdtemp(prefix="panchime-chromium-")
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    yield driver
    driver.quit()
    shutil.rmtree(profile, ignore_errors=True)


@pytest.fixture
def show(browser, folder):
    """Opens a page in a window of a width, by day or night, on a screen or on paper."""

    def opened(name, width=1280, *, dark=False, media="", scripts=True):
        browser.get_log("browser")
        browser.get_log("performance")
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not scripts})
        metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media, "features": [scheme]})
        browser.get("about:blank")
        browser.get(uri(folder, name))
        return browser

    return opened


def story():
    return tell(made_roast())


def read(browser):
    """The readout: (ms since beans in, degrees)."""
    text = browser.find_element("id", "readout").text
    found = re.match(r"(\d+):(\d\d) (after|before) beans in: (?:roast \d+ )?(-?[\d.]+) °C", text)
    assert found, text
    ms = (int(found[1]) * 60 + int(found[2])) * 1000
    return (ms if found[3] == "after" else -ms), float(found[4])


def agrees_with_story(browser):
    """The readout's temperature is the story's reading at its moment, which is shown to the second."""
    ms, degrees = read(browser)
    told = story()
    samples = zip(told.t_ms, told.temperature_centi, strict=True)
    near = [centi / 100 for t_ms, centi in samples if abs(t_ms - BEANS_IN_MS - ms) <= 520]
    return min(abs(degrees - value) for value in near) <= 0.051


def keys(browser, *pressed):
    browser.find_element("id", "chart").send_keys(*pressed)


def mouse_at(browser, share, panel="panel-0"):
    """Moves the mouse to a part of the plot's width."""
    from selenium.webdriver import ActionChains

    over = browser.find_element("css selector", f"#{panel} .u-over")
    box = over.rect
    ActionChains(browser).move_to_element_with_offset(over, round(box["width"] * (share - 0.5)), 0).perform()


@pytest.mark.parametrize("name", PAGES)
def test_console_is_quiet_and_no_request_leaves_the_page(show, folder, name):
    import json

    browser = show(name)
    browser.execute_script("return 1")
    assert browser.get_log("browser") == []
    urls = []
    for entry in browser.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            urls.append(message["params"]["request"]["url"])
    assert uri(folder, name).partition("#")[0] in urls, "the log of requests is not there"
    assert [url for url in urls if not url.startswith(("file:", "data:"))] == []


def test_policy_keeps_even_code_in_the_page_from_reaching_out(show):
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(1)
        port = server.getsockname()[1]
        browser = show("roast.html")
        browser.execute_async_script(
            f"""const done = arguments[0];
            new Image().src = "http://127.0.0.1:{port}/image";
            const link = document.createElement("link");
            link.rel = "stylesheet"; link.href = "http://127.0.0.1:{port}/style"; document.head.append(link);
            fetch("http://127.0.0.1:{port}/fetch").then(() => done("sent"), () => done("kept"));"""
        )
        with pytest.raises(TimeoutError):
            server.accept()
    assert any("Content Security Policy" in entry["message"] for entry in browser.get_log("browser"))


def test_hostile_texts_are_texts(show):
    browser = show("roast.html")
    assert browser.title == f"Roast 1: {PLAN_NAME}"
    assert PLAN_NAME in browser.find_element("tag name", "h1").text
    assert PLAN_NAME in browser.find_element("css selector", "dd:last-of-type").text


def test_hostile_texts_are_texts_in_brief_and_in_the_list(show):
    browser = show(BRIEF)
    assert browser.title == f"Roast 1: {PLAN_NAME}"
    assert PLAN_NAME in browser.find_element("tag name", "h1").text
    assert any(PLAN_NAME in words.text for words in browser.find_elements("tag name", "dd"))
    browser = show("long/index.html")
    assert browser.title == "Roasts"
    assert PLAN_NAME in browser.find_element("id", "roasts").text


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_page_fits_its_window(show, name, width):
    browser = show(name, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    assert browser.execute_script("return innerWidth") == width
    # Nothing that is read is smaller than 12 px, and whatever is pressed is at least 44 px high.
    sizes = browser.execute_script(
        "return [...document.querySelectorAll('p,td,th,dd,dt,h1,h2,li,label,output')].map("
        "e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert min(sizes) >= 12
    heights = browser.execute_script(
        "return [...document.querySelectorAll('button,select,input')].filter(e => !e.hidden).map("
        "e => e.getBoundingClientRect().height)"
    )
    assert all(height >= 44 for height in heights)


@pytest.mark.parametrize("width", WIDTHS)
def test_marks_are_read_by_the_keyboard_alone(show, width):
    from selenium.webdriver import ActionChains
    from selenium.webdriver.common.keys import Keys

    browser = show("roast.html", width)
    ActionChains(browser).send_keys(Keys.TAB).perform()
    assert browser.execute_script("return document.activeElement.id") == "chart"
    outline = browser.execute_script("return getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid", "the focus cannot be seen"
    told = story()
    moments = sorted({mark.t_ms for mark in told.marks} | {hit.t_ms for hit in told.milestones})
    ActionChains(browser).send_keys(Keys.HOME).perform()
    assert read(browser)[0] == -BEANS_IN_MS
    for t_ms in moments:
        ActionChains(browser).send_keys(Keys.ARROW_UP).perform()
        ms, degrees = read(browser)
        assert ms == t_ms - BEANS_IN_MS
        assert degrees == pytest.approx(told.temperature_at(t_ms) / 100, abs=0.051)
    assert "beans out" in browser.find_element("id", "readout").text
    ActionChains(browser).send_keys(Keys.ARROW_DOWN).perform()
    assert read(browser)[0] == moments[-2] - BEANS_IN_MS


def test_arrows_step_by_a_second_and_by_ten(show):
    from selenium.webdriver import ActionChains
    from selenium.webdriver.common.keys import Keys

    browser = show("roast.html")
    keys(browser, Keys.HOME, Keys.ARROW_UP, Keys.ARROW_UP)
    start, _ = read(browser)
    keys(browser, Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert read(browser)[0] == start + 2000
    keys(browser, Keys.ARROW_LEFT)
    assert read(browser)[0] == start + 1000
    ActionChains(browser).key_down(Keys.SHIFT).send_keys(Keys.ARROW_RIGHT).key_up(Keys.SHIFT).perform()
    assert read(browser)[0] == start + 11_000
    assert agrees_with_story(browser)


def test_arrows_cross_a_gap_in_the_readings(show):
    from selenium.webdriver.common.keys import Keys

    browser = show("tripped.html")
    keys(browser, Keys.HOME, Keys.ARROW_UP, *[Keys.ARROW_RIGHT] * 215)
    assert read(browser)[0] > 222_000


@pytest.mark.parametrize("panel", ["panel-0", "panel-1"])
def test_pointer_reads_what_the_story_says(show, panel):
    browser = show("roast.html")
    for share in (0.2, 0.5, 0.8):
        mouse_at(browser, share, panel)
        # The page opens from a minute before beans in to a minute after beans out.
        wanted = -60_000 + share * (ROAST_MS + 120_000)
        ms, _ = read(browser)
        assert ms == pytest.approx(wanted, abs=2000)
        assert agrees_with_story(browser)


def test_readout_tells_rate_stage_and_guide(show):
    browser = show("roast.html")
    mouse_at(browser, 0.5)
    text = browser.find_element("id", "readout").text
    assert re.search(r"rate \+\d+\.\d °C/min", text)
    assert "browning" in text
    assert "guide curve" in text
    assert browser.find_element("id", "readout").get_attribute("aria-live") == "polite"


def test_zoom_by_key_button_and_mouse(show):
    from selenium.webdriver import ActionChains
    from selenium.webdriver.common.keys import Keys

    browser = show("roast.html")

    def span_ms():
        mouse_at(browser, 0.25)
        begin, _ = read(browser)
        mouse_at(browser, 0.75)
        return 2 * (read(browser)[0] - begin)

    whole = span_ms()
    assert whole == pytest.approx(ROAST_MS + 120_000, rel=0.01)
    keys(browser, "+")
    assert span_ms() == pytest.approx(whole / 2, rel=0.02)
    keys(browser, "-")
    assert span_ms() == pytest.approx(whole, rel=0.02)
    browser.find_element("id", "zoom-in").click()
    assert span_ms() == pytest.approx(whole / 2, rel=0.02)
    browser.find_element("id", "zoom-whole").click()
    assert span_ms() == pytest.approx(whole, rel=0.02)
    over = browser.find_element("css selector", "#panel-0 .u-over")
    quarter = round(over.rect["width"] / 4)
    drag = ActionChains(browser).move_to_element_with_offset(over, -quarter, 0).click_and_hold()
    drag.move_by_offset(2 * quarter, 0).release().perform()
    assert span_ms() == pytest.approx(whole / 2, rel=0.03)
    keys(browser, "0", Keys.HOME)
    assert read(browser)[0] == -BEANS_IN_MS, "the line is followed where it goes"


def test_fingers_read_and_spread(show):
    browser = show("roast.html", 360)
    browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 2})
    try:
        browser.execute_script("document.getElementById('chart').scrollIntoView({block: 'center'})")
        box = browser.execute_script(
            "const b = document.querySelector('#panel-0 .u-over').getBoundingClientRect(); "
            "return [b.left, b.top, b.width, b.height]"
        )
        middle = box[1] + box[3] / 2

        def touch(kind, *shares):
            points = [{"x": box[0] + share * box[2], "y": middle, "id": number} for number, share in enumerate(shares)]
            browser.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        touch("touchStart", 0.5)
        touch("touchEnd")
        assert read(browser)[0] == pytest.approx(-60_000 + 0.5 * (ROAST_MS + 120_000), abs=4000)
        assert agrees_with_story(browser)
        touch("touchStart", 0.4, 0.6)
        touch("touchMove", 0.2, 0.8)
        touch("touchEnd")
        touch("touchStart", 0.75)
        touch("touchEnd")
        # Spread to three times: the window is a third as wide, around its middle.
        assert read(browser)[0] == pytest.approx(-60_000 + (0.5 + 0.25 / 3) * (ROAST_MS + 120_000), abs=6000)
    finally:
        browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})


def test_comparison_reads_every_roast_and_how_far_they_are_apart(show):
    from selenium.webdriver.common.keys import Keys

    browser = show("compare.html")
    keys(browser, Keys.ARROW_RIGHT)
    text = browser.find_element("id", "readout").text
    assert re.search(r"roast 1 [\d.]+ °C, roast 3 [\d.]+ °C, 0\.0 °C apart", text), text


@pytest.mark.parametrize("dark", [False, True])
def test_colours_can_be_told_from_the_paper(show, dark):
    browser = show("roast.html", dark=dark)

    def luminance(colour):
        # WCAG 2.2, relative luminance of sRGB.
        parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    def colour(name):
        return browser.execute_script(f"return getComputedStyle(document.documentElement).getPropertyValue('--{name}').trim()")

    def contrast(name):
        light, low = sorted((luminance(colour(name)), luminance(colour("card"))), reverse=True)
        return (light + 0.05) / (low + 0.05)

    # WCAG 2.2: 4.5 for text, 3 for what a graphic is understood by.
    assert min(contrast(name) for name in ("ink", "quiet", "trip")) >= 4.5
    assert min(contrast(name) for name in ("reading", "rate", "guide", *(f"line-{n}" for n in range(6)))) >= 3
    assert (luminance(colour("paper")) < 0.1) is dark


def test_curve_is_painted_anew_when_night_falls(show):
    browser = show("roast.html")
    sample = "return document.querySelector('#panel-0 canvas').toDataURL()"
    day = browser.execute_script(sample)
    scheme = {"name": "prefers-color-scheme", "value": "dark"}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": [scheme]})
    night = browser.execute_async_script(
        "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(() => "
        "done(document.querySelector('#panel-0 canvas').toDataURL())));"
    )
    assert night != day


@pytest.mark.parametrize("name", CHARTS)
def test_paper_has_a_drawing_in_place_of_the_canvas(show, name):
    browser = show(name, media="print")
    assert browser.find_element("css selector", ".paper svg").is_displayed()
    assert not browser.find_element("id", "chart").is_displayed()
    assert not browser.find_element("id", "zoom-in").is_displayed()
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    pdf = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {})["data"])
    assert pdf.startswith(b"%PDF")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 4


def test_page_without_scripts_shows_the_drawing(show):
    browser = show("roast.html", scripts=False)
    assert browser.find_element("css selector", ".paper svg").is_displayed()
    assert not browser.find_element("id", "chart").is_displayed()


def test_list_is_filtered_and_sorted(show):
    browser = show("all/index.html")

    def shown():
        items = browser.find_elements("css selector", "#roasts li")
        return [item.get_attribute("data-number") for item in items if item.is_displayed()]

    def choose(name, value):
        browser.execute_script(
            f"const field = document.getElementById('{name}'); field.value = '{value}'; "
            "field.dispatchEvent(new Event('input', {bubbles: true}))"
        )

    assert shown() == ["3", "2", "1"]
    choose("direction", "up")
    assert shown() == ["1", "2", "3"]
    choose("order", "loss")
    # The second roast was not weighed: it stays at the end.
    assert shown() == ["3", "1", "2"]
    choose("direction", "down")
    assert shown() == ["1", "3", "2"]
    choose("method", "wok")
    assert shown() == ["3"]
    choose("method", "")
    choose("state", "tripped")
    assert shown() == ["2"]
    choose("state", "")
    browser.find_element("id", "words").send_keys("script> skillet")
    assert shown() == ["1"]
    assert browser.find_element("id", "count").text == "1 roast"


def test_list_leads_to_the_pages_and_back(show):
    browser = show("all/index.html")
    browser.find_element("link text", "2 Skillet, to City").click()
    assert browser.find_element("tag name", "h1").text == "Roast 2: Skillet, to City"
    browser.find_element("link text", "All roasts").click()
    assert browser.find_element("tag name", "h1").text == "Roasts"


def test_list_leads_to_roasts_in_brief_and_from_one_to_another(show):
    browser = show("long/index.html", 360)
    browser.find_element("link text", "2 Skillet, to City").click()
    assert browser.find_element("tag name", "h1").text == "Roast 2: Skillet, to City"
    assert "The alarm sounded at 9:20" in browser.find_element("id", "troubles").text
    browser.execute_script("location.hash = '#1'")
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, 20).until(lambda _: browser.title.startswith("Roast 1:"))
    browser.find_element("link text", "All roasts").click()
    assert browser.find_element("tag name", "h1").text == "Roasts"
    assert browser.get_log("browser") == []


def test_roast_in_brief_is_read_like_a_whole_one(show):
    from selenium.webdriver.common.keys import Keys

    browser = show("long/roast.html#2")
    keys(browser, Keys.HOME, Keys.ARROW_UP)
    assert "A beans in" in browser.find_element("id", "readout").text
    mouse_at(browser, 0.5)
    assert re.search(r"after beans in: \d+\.\d °C, rate \+\d+\.\d °C/min", browser.find_element("id", "readout").text)


def test_roast_that_the_folder_lacks_is_said_to_be_missing(show):
    browser = show("long/roast.html#999")
    assert "does not have that roast" in browser.find_element("id", "lacking").text


def test_long_list_is_drawn_as_it_is_asked_for(show, folder):
    """Three roasts a hundred times over: the list draws a hundred, then more, and finds every one."""
    target = folder / "many"
    shutil.copytree(folder / "all", target, dirs_exist_ok=True)
    rows = rows_in((folder / "all" / "index.html").read_bytes())
    many = [rows[number % 3 + 1]._replace(number=number) for number in range(1, 301)]
    (target / "index.html").write_text(index_page(many, "0" * 64), encoding="utf-8")
    browser = show("many/index.html")

    def numbers():
        return [int(item.get_attribute("data-number")) for item in browser.find_elements("css selector", "#roasts li")]

    assert numbers() == list(range(300, 200, -1))
    assert browser.find_element("id", "count").text == "300 roasts, the first 100 are shown"
    browser.find_element("id", "more").click()
    assert numbers() == list(range(300, 100, -1))
    assert browser.execute_script("return document.activeElement.textContent").startswith("200 ")
    browser.find_element("id", "more").click()
    assert len(numbers()) == 300
    assert not browser.find_element("id", "more").is_displayed()
    browser.find_element("id", "words").send_keys("windy")
    assert set(numbers()) == {number for number in range(1, 301) if number % 3 + 1 == 1}


def test_list_without_scripts_shows_the_newest(show):
    browser = show("all/index.html", scripts=False)
    assert len(browser.find_elements("css selector", "#roasts li a")) == 3
