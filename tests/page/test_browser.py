"""The pages in a real browser, as on a phone: fingers, reloads, lost networks, readers of screens.

One Chromium serves all tests. Two names of the server act as two phones, since a browser keeps
cookies and storage apart by name. Only this machine is ever contacted. BUBBLERATE_BROWSER=must
fails where there is no browser; BUBBLERATE_AXE names the file of axe-core, which checks how a page
can be read by all.
"""

import os
import shutil
from datetime import timedelta
from pathlib import Path
from threading import Thread

import numpy as np
import pytest
from selenium import webdriver
from selenium.common.exceptions import TimeoutException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait
from waitress.server import create_server

from bubblerate.cli.common import machine_clock
from bubblerate.diary.reading import read
from bubblerate.diary.sound.bubbles import listen
from bubblerate.page.app import make_app
from bubblerate.page.door import Door
from bubblerate.page.pages import Pages

from bench.sound import sounds
from phones import closed

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
MUST = os.environ.get("BUBBLERATE_BROWSER") == "must"
AXE = os.environ.get("BUBBLERATE_AXE", "")
PATIENCE_S = 300  # as long as a busy machine may take
NAMES = ("cellar.local", "127.0.0.1")  # a phone each
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync "
    "--disable-background-networking --disable-component-update --disable-dev-shm-usage"
)
RULES = "MAP cellar.local 127.0.0.1, MAP evil.local 127.0.0.1, EXCLUDE 127.0.0.1, MAP * ~NOTFOUND"

pytestmark = pytest.mark.skipif(
    not (MUST or (CHROMIUM and DRIVER)), reason="no chromium and chromedriver on this machine"
)


class House:
    """The computer of the house: its shelf, and the server that may go and come back."""

    def __init__(self, folder):
        self.folder, self.port, self.answers = folder, 0, True
        self.start()

    def start(self):
        door = Door(key="k" * 22, names=NAMES, port=self.port)
        self.server = create_server(self.app, host="127.0.0.1", port=self.port, threads=4)
        self.port = self.server.effective_port
        door = Door(key="k" * 22, names=NAMES, port=self.port)
        self.inner = make_app(Pages.of(self.folder, door=door, clock=machine_clock))
        self.running = Thread(target=self.server.run, daemon=True)
        self.running.start()

    def app(self, environ, start):
        """The page; or what a phone gets where the answer is lost on its way."""
        if self.answers:
            return self.inner(environ, start)
        b"".join(self.inner(environ, lambda *_: None))
        start("502 Bad Gateway", [("Content-Type", "text/plain")])
        return [b"lost"]

    def stop(self):
        closed(self.server, self.running)

    def rows(self, jar="fig"):
        return [v for v in read(self.folder / f"{jar}.csv").visits if v.event != "pitched"]


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM or "/usr/bin/chromium"
    for flag in FLAGS.split():
        options.add_argument(flag)
    options.add_argument(f"--host-resolver-rules={RULES}")
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('browser')}")
    driver = webdriver.Chrome(
        options=options, service=webdriver.ChromeService(DRIVER or "chromedriver")
    )
    seen(driver, 412)
    yield driver
    driver.quit()


@pytest.fixture(scope="module", autouse=True)
def _quick():
    """What follows takes the most time to work out, and is looked at in `test_views`."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("bubblerate.page.views.figures", lambda *_, **__: None)
        patched.setattr(
            "bubblerate.page.views.after_lines", lambda *_: (("next", ""), ("bottles", "6"))
        )
        yield


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shelf")
    house = House(folder)
    yield house
    house.stop()


@pytest.fixture
def phone(browser, house):
    """A phone that was let in and remembers nothing, before two jars pitched two days ago."""
    begun = (machine_clock() - timedelta(days=2)).isoformat()
    for jar in ("fig", "plum"):
        (house.folder / f"{jar}.csv").write_text(
            f"when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck\n{begun},,,,,1.08,,pitched,4.5,,\n"
        )
    for name in NAMES:
        browser.get(f"http://{name}:{house.port}/k/{'k' * 22}")
        browser.execute_script("localStorage.clear()")
    return Phone(browser, house)


class Phone:
    """What a person does with a phone."""

    def __init__(self, browser, house):
        self.browser, self.house = browser, house

    def opens(self, path, name="cellar.local"):
        self.browser.get(f"http://{name}:{self.house.port}{path}")

    def finds(self, what):
        return self.browser.find_element(By.CSS_SELECTOR, what)

    def presses(self, what, times=1):
        for _ in range(times):
            self.finds(what).click()

    def types(self, field, text, form="tally"):
        self.finds(f'form[action$="/{form}"] [name="{field}"]').send_keys(text)

    def does(self, what, times=1):
        self.presses(f'[data-do="{what}"]', times)

    def unfolds(self):
        self.browser.execute_script(
            "for (const one of document.querySelectorAll('details')) one.open = true"
        )

    def waits(self, seconds):
        """For the page, and for nobody else, it is so long after the go; and its clock stands."""
        self.browser.execute_script(
            "const name = Object.keys(localStorage).find((one) => one.includes('counting'));"
            "const now = JSON.parse(localStorage[name]).began + arguments[0] * 1000;"
            "Date.now = () => now",
            seconds,
        )

    def waits_more(self, seconds):
        """For the page it is so much later, and its clock goes on."""
        self.browser.execute_script(
            "const now = Date.now.bind(Date), more = arguments[0] * 1000;"
            "Date.now = () => now() + more",
            seconds,
        )

    def sees(self, text):
        """Wait until the page says so."""
        try:
            WebDriverWait(self.browser, PATIENCE_S, 0.05).until(lambda _: text in self.text)
        except TimeoutException:
            raise AssertionError(f"no {text!r} in: {self.text}") from None

    @property
    def text(self):
        return self.browser.execute_script("return document.body ? document.body.innerText : ''")

    @property
    def kept(self):
        return self.browser.execute_script(
            "return JSON.parse(localStorage.getItem('bubblerate.waiting') || '[]')"
        )


def seen(driver, width, *, dark=False):
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": True}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    look = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": look})


# --- tap to count --------------------------------------------------------------------------------


def test_a_count_by_touch_is_written_said_back_and_taken_back(phone, house):
    phone.opens("/jar/fig")
    phone.does("tap")  # go: no bubble
    phone.does("tap", 5)
    phone.does("undo")
    assert phone.finds('[data-do="tap"]').text == "4"
    phone.waits(65)
    phone.sees("4 in 1:05")
    phone.types("temp", "18.5")
    phone.does("stop")
    phone.sees("fig: 4 in 65 s")
    phone.sees("18.5 C")
    (row,) = house.rows()
    assert (row.bubbles, row.temp_c, phone.kept) == (4, 18.5, [])
    assert row.seconds == 65
    phone.presses(".said button")
    phone.sees("fig: struck line 3")
    assert house.rows()[0].struck


def test_it_says_enough_and_shows_the_rate(phone):
    phone.opens("/jar/fig")
    phone.does("tap", 4)
    phone.waits(300)
    phone.sees("0.60 a minute")
    phone.sees("Enough: press Stop.")


def test_a_key_counts_as_a_finger_does(phone):
    phone.opens("/jar/fig")
    big = phone.finds('[data-do="tap"]')
    for key in (Keys.ENTER, Keys.SPACE, Keys.ENTER):
        big.send_keys(key)
    assert big.text == "2"


def test_a_count_outlives_a_reload_and_a_visit_elsewhere(phone, house):
    phone.opens("/jar/fig")
    phone.does("tap", 4)
    phone.browser.refresh()
    assert phone.finds('[data-do="tap"]').text == "3"
    phone.opens("/")
    phone.sees("A count of fig is under way")
    phone.presses("#kept a")
    phone.does("tap", 2)
    phone.waits(35)
    phone.does("stop")
    phone.sees("fig: 5 in 35 s")
    assert [row.bubbles for row in house.rows()] == [5]


def test_a_count_is_kept_while_the_computer_is_gone_and_written_once_when_it_is_back(phone, house):
    phone.opens("/jar/fig")
    phone.does("tap", 8)
    phone.waits_more(60)
    house.stop()
    before = machine_clock()
    phone.does("stop")
    phone.sees("is kept on this phone and not written yet")
    assert [one["jar"] for one in phone.kept] == ["fig"]
    phone.waits_more(3600)
    house.start()
    phone.sees("a minute, on ")
    (row,) = house.rows()
    hour, second = timedelta(hours=1), timedelta(seconds=1)  # to which times are rounded
    assert before - hour - second <= row.when  # when it was counted, not when it came
    assert row.when <= machine_clock() - hour + second
    assert phone.kept == []


def test_an_answer_that_is_lost_writes_nothing_twice(phone, house):
    phone.opens("/jar/fig")
    phone.types("count", "12 in 90s")
    house.answers = False
    try:
        phone.presses('form[action$="/tally"] [data-writes]')
        phone.sees("is kept on this phone and not written yet")
        assert len(house.rows()) == 1  # it was written, but the phone does not know
    finally:
        house.answers = True
    phone.opens("/jar/fig")
    phone.sees("fig: 12 in 90 s")
    assert (len(house.rows()), phone.kept) == (1, [])


def test_two_phones_count_at_once(phone, house):
    first = phone.browser.current_window_handle
    phone.opens("/jar/fig")
    phone.does("tap", 4)
    phone.waits(65)
    phone.browser.switch_to.new_window("tab")
    seen(phone.browser, 412)
    try:
        phone.opens("/jar/fig", name="127.0.0.1")
        phone.does("tap", 3)
        phone.waits(65)
        phone.does("stop")
        phone.sees("fig: 2 in 65 s")
    finally:
        phone.browser.close()
        phone.browser.switch_to.window(first)
    assert phone.finds('[data-do="tap"]').text == "3"
    phone.does("stop")
    phone.sees("fig: 3 in 65 s")
    assert sorted(row.bubbles for row in house.rows()) == [2, 3]


# --- forms ---------------------------------------------------------------------------------------


def test_a_refused_entry_is_put_right_in_its_form(phone, house):
    phone.opens("/jar/fig")
    phone.types("count", "twelve")
    phone.presses('form[action$="/tally"] [data-writes]')
    phone.sees("Not written: cannot read")
    assert phone.finds("#kept").rect["y"] < 900  # where the person looks, whatever was scrolled
    assert phone.browser.switch_to.active_element.get_attribute("id") == "kept"
    field = phone.finds('[name="count"]')
    assert field.get_attribute("value") == "twelve"
    field.clear()
    field.send_keys("12 in 90s", Keys.ENTER)
    phone.sees("fig: 12 in 90 s")
    assert (len(house.rows()), phone.kept) == (1, [])


def test_the_evening_goes_on_by_itself_to_the_next_jar(phone, house):
    phone.opens("/evening")
    phone.types("count", "30")
    phone.presses("[data-writes]")
    phone.sees("plum 2 of 2")
    phone.types("count", "25")
    phone.presses("[data-writes]")
    phone.sees("plum: 25 in 1 min")
    assert phone.finds("h1").text == "Shelf"
    assert [len(house.rows(jar)) for jar in ("fig", "plum")] == [1, 1]


def test_a_jar_is_begun_and_parted_by_phone_and_what_is_refused_stands_in_its_form(phone, house):
    phone.opens("/")
    phone.unfolds()
    phone.types("jar", "sloe", form="begin")
    phone.types("litres", "plenty", form="begin")
    phone.presses('form[action$="/begin"] [data-writes]')
    phone.sees("Not written:")
    field = phone.finds('form[action$="/begin"] [name="litres"]')
    assert field.get_attribute("value") == "plenty"
    field.clear()
    field.send_keys("4.5", Keys.ENTER)
    phone.sees("sloe: pitched, 4.5 litres")
    assert (phone.finds("h1").text, phone.kept) == ("sloe", [])
    phone.unfolds()
    phone.types("into", "sloe-2", form="split")
    phone.types("litres", "0.75", form="split")
    phone.presses('form[action$="/split"] [data-writes]')
    phone.sees("sloe-2: split, 0.75 litres, other jar sloe")
    for name in ("sloe", "sloe-2"):
        (house.folder / f"{name}.csv").unlink()


def test_all_works_without_script(phone, house):
    phone.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        phone.opens("/jar/fig")
        assert not phone.finds(".tap").is_displayed()
        phone.types("count", "12 in 90s")
        phone.presses('form[action$="/tally"] [data-writes]')
        phone.sees("fig: 12 in 90 s")
        phone.presses(".said button")
        phone.sees("fig: struck line 3")
    finally:
        phone.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert len(house.rows()) == 1


def test_what_the_phone_recorded_is_decoded_by_it_and_counted(phone, tmp_path):
    soundfile = pytest.importorskip("soundfile", reason="writes what a phone records")
    take = sounds.airlock(4, seconds=30.0, per_min=30.0, rate_hz=44_100)
    both = np.stack([take.wave, 0.5 * take.wave], axis=1)
    soundfile.write(tmp_path / "fig.ogg", both, take.rate_hz)
    bubbles = listen(tmp_path / "fig.ogg").bubbles
    phone.opens("/jar/fig")
    phone.unfolds()
    phone.finds('[name="sound"]').send_keys(str(tmp_path / "fig.ogg"))
    phone.presses('form[action$="/listen"] button')
    phone.sees(f"fig.wav: {bubbles} in 30 s")  # a WAV by now, of 16 kHz
    phone.presses("[data-writes]")
    phone.sees(f"fig: {bubbles} in 30 s")


# --- who may come in -----------------------------------------------------------------------------


def test_a_foreign_name_that_leads_here_is_not_answered(phone):
    phone.opens("/jar/fig", name="evil.local")
    assert "not the page's address" in phone.text


def test_the_pages_ask_nobody_else_and_break_no_rule_of_their_own(phone):
    phone.browser.get_log("browser")
    asked = []
    for path in ("/", "/jar/fig", "/evening"):
        phone.opens(path)
        asked += phone.browser.execute_script(
            "return performance.getEntriesByType('resource').map(e => e.name)"
        )
    assert asked
    assert {one.split("/")[2] for one in asked} == {f"cellar.local:{phone.house.port}"}
    assert phone.browser.get_log("browser") == []


# --- for people ----------------------------------------------------------------------------------

MEASURE = """
const small = [], px = (e) => parseFloat(getComputedStyle(e).fontSize);
const pressed = "button, input:not([type=hidden]), select, summary, .button, nav a, .shelf a";
for (const e of document.querySelectorAll(pressed)) {
  const box = e.getBoundingClientRect();
  if (box.width && box.height < 64) small.push(e.outerHTML);
}
const said = [...document.querySelectorAll("main *")].filter((e) => e.innerText);
const tiny = said.filter((e) => px(e) < 20).map((e) => e.outerHTML);
const big = document.querySelector(".big") || document.body;
const told = [...document.querySelectorAll(".told dt, .told dd")].map(px);
return {
  small, tiny, told: [...new Set(told)],
  wide: document.documentElement.scrollWidth - innerWidth,
  tap: big.getBoundingClientRect().height / innerHeight,
  scale: document.querySelector("meta[name=viewport]").content,
};
"""


@pytest.mark.parametrize("path", ["/?open", "/jar/fig", "/evening", "/jar/fig?open"])
def test_a_page_fits_every_screen_with_large_letters_and_targets(phone, path):
    for width in (320, 412, 800):
        seen(phone.browser, width)
        phone.opens(path)
        if path.endswith("open"):
            phone.unfolds()
        found = phone.browser.execute_script(MEASURE)
        assert (found["small"], found["tiny"]) == ([], [])
        assert found["wide"] <= 0
        assert found["tap"] >= 1 / 3
        assert len(found["told"]) <= 1  # GO is no larger than its caution
        assert "user-scalable" not in found["scale"]
    seen(phone.browser, 412)


def test_axe_finds_nothing_on_any_page(phone, house):
    if not AXE:
        assert not MUST, "BUBBLERATE_AXE names no file of axe-core"
        pytest.skip("BUBBLERATE_AXE names no file of axe-core")
    phone.opens("/jar/fig")
    phone.types("count", "700")
    phone.presses('form[action$="/tally"] [data-writes]')
    phone.sees("fig: 700 in 1 min")
    said = phone.browser.current_url.partition(str(house.port))[2]
    script = Path(AXE).read_text(encoding="utf-8")
    found = []
    for dark in (False, True):
        seen(phone.browser, 412, dark=dark)
        for path in ("/?open", said, "/evening", "/nothing", "/jar/fig?open"):
            phone.opens(path)
            if path.endswith("open"):
                phone.unfolds()
            phone.browser.execute_cdp_cmd("Runtime.evaluate", {"expression": script})
            rules = "{runOnly: ['color-contrast']}" if dark else "{}"  # all else is the same
            result = phone.browser.execute_async_script(f"axe.run({rules}).then(arguments[0])")
            found += [
                (path, dark, one["id"], one["nodes"][0]["html"]) for one in result["violations"]
            ]
    seen(phone.browser, 412)
    assert found == []
