"""The review page in a real browser: it opens from disk, plays, loops, follows, and is usable."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tests.strategies import line
from tests.unit.sheets.browser import a_browser, a_page, axe_source, samples_of, wait_until
from tests.unit.sheets.pages import ROOT, fingered
from variants.finish import finish
from variants.guitar import instrument_for, parse_tuning
from variants.musicxml import read
from variants.score import Score
from variants.sheets import Look, Version, sounds
from variants.sheets.review import review_page

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from playwright.sync_api import Browser, Page

RATE = 44100
# The tuning of equal temperament: A4 (MIDI 69) is 440 Hz (ISO 16), a semitone is 2 ** (1/12).
CENTS = 10.0


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all tests of this module."""
    with a_browser() as opened:
        yield opened


def _capoed() -> Score:
    instrument = replace(instrument_for(parse_tuning("drop-d")), capo=2)
    return finish(line("E2 B2 F#3 C#4", "A4 E5 B4:h", instrument=instrument)).score


def _scores() -> list[Score]:
    riff = fingered(ROOT / "samples" / "harbour-riff.musicxml")
    drop = instrument_for(parse_tuning("drop-d"))
    low = finish(line("D2 A2 D3 F#3", "A3 D4 F#4 G5", instrument=drop)).score
    return [riff, low, _capoed()]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page of three versions: a sample, a drop tuning, and that with a capo."""
    names = ("As it is", "Drop D", "Capo 2")
    versions = [
        Version(score=score, name=name, practises=("dyads: perfect fifth",))
        for score, name in zip(_scores(), names, strict=True)
    ]
    path = tmp_path_factory.mktemp("review") / "page.html"
    path.write_bytes(review_page(versions, Look(staves="both")).html)
    return path


@pytest.fixture
def page(browser: Browser, file: Path) -> Iterator[Page]:
    """The page, freshly opened, the network off, no word on the console allowed."""
    with a_page(browser, file, viewport={"width": 1280, "height": 900}) as opened:
        yield opened


def _playing(page: Page) -> bool:
    return page.get_attribute("#play", "aria-pressed") == "true"


def _hertz(samples: NDArray[np.float32], expected: float) -> float:
    """Return the frequency of the strongest partial below one and a half times the expected.

    A Hann window, four times as many zeros, and a parabola through the logarithms of the three
    highest values: the usual way to read a frequency between the lines of a spectrum.
    """
    size = len(samples)
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(size), 8 * size))
    step = RATE / (8 * size)
    high = int(1.5 * expected / step)
    top = int(np.argmax(spectrum[:high]))
    left, middle, right = np.log(spectrum[top - 1 : top + 2] + 1e-12)
    return float((top + 0.5 * (left - right) / (left - 2 * middle + right)) * step)


@pytest.mark.parametrize("number", [1, 2])
def test_every_note_is_in_tune(page: Page, number: int) -> None:
    """Each note sounds within 10 cents of equal temperament at the octave that is heard.

    Source: ISO 16 and the formula of equal temperament; the pitches come from the score.
    """
    score = _scores()[number]
    made = samples_of(page, {"version": number})
    quarter = 60 / 120
    for sound in sounds(score, score.parts[0]):
        start = int((float(sound.start) * quarter + 0.02) * RATE)
        stop = start + int((float(sound.length) * quarter - 0.03) * RATE)
        expected = 440.0 * 2 ** ((sound.midi - 69) / 12)
        found = _hertz(made[start:stop], expected)
        assert abs(1200 * np.log2(found / expected)) < CENTS


def test_a_chord_has_all_its_notes(page: Page) -> None:
    """Both notes of the riff's first dyad (A2 and E3) are in the spectrum, within 10 cents."""
    made = samples_of(page, {"version": 0})
    first = made[: int(0.5 * RATE)]
    spectrum = np.abs(np.fft.rfft(first * np.hanning(len(first)), 8 * len(first)))
    step = RATE / (8 * len(first))
    for midi in (45, 52):
        expected = 440.0 * 2 ** ((midi - 69) / 12)
        low, high = (int(expected * 2 ** (cents / 1200) / step) for cents in (-60, 60))
        top = low + int(np.argmax(spectrum[low:high]))
        assert abs(1200 * np.log2(top * step / expected)) < CENTS
        assert spectrum[top] > 0.1 * spectrum.max()


def test_speed_changes_time_and_not_pitch(page: Page) -> None:
    """At half the speed the same notes come after twice the time."""
    whole, slow = (samples_of(page, {"version": 1, "speed": speed}) for speed in (1, 0.5))
    assert len(slow) - len(whole) == pytest.approx(4.0 * RATE, rel=0.01)
    third = slow[int(2.05 * RATE) : int(2.9 * RATE)]
    assert abs(1200 * np.log2(_hertz(third, 146.832) / 146.832)) < CENTS


def test_metronome_and_count_in(page: Page) -> None:
    """A measure of four clicks comes before the first note, and a click on each beat after it."""
    plain = samples_of(page, {"version": 1})
    counted = samples_of(page, {"version": 1, "countIn": True, "metronome": True})
    shift = 2 * RATE
    assert len(counted) - len(plain) == pytest.approx(shift, abs=2)
    before = counted[:shift]
    loud = [float(np.abs(before[int(b * RATE / 2) :][:800]).max()) for b in range(4)]
    rest = [float(np.abs(before[int((b + 0.5) * RATE / 2) :][:800]).max()) for b in range(4)]
    assert min(loud) > 0.15
    assert max(rest) < 0.01
    # The first beat of a measure is louder.
    assert loud[0] > max(loud[1:])
    clicks = counted[shift : shift + len(plain)] - plain[: len(counted) - shift]
    found = [float(np.abs(clicks[int(b * RATE / 2) :][:800]).max()) for b in range(8)]
    assert min(found) > 0.15
    assert found[4] > found[3]


def test_nothing_is_cut_off(page: Page) -> None:
    """The loudest moment of a riff with clicks stays below full scale, and is well heard."""
    made = samples_of(page, {"version": 0, "metronome": True})
    assert 0.2 < float(np.abs(made).max()) < 0.97


def test_part_of_a_piece(page: Page) -> None:
    """A stretch of measures is rendered alone."""
    second = samples_of(page, {"version": 1, "from": 1, "to": 1})
    assert len(second) == pytest.approx((2.0 + 0.29) * RATE, rel=0.01)
    assert abs(1200 * np.log2(_hertz(second[900:20000], 220.0) / 220.0)) < CENTS


def test_it_follows(page: Page) -> None:
    """While it plays, heads, measure, bar and place on the neck go with the sound."""
    page.click("[data-listen='1']")
    wait_until(page, "document.querySelectorAll('#v1 .note.now').length > 0")
    seen: set[str] = set()
    for _ in range(40):
        seen |= set(
            page.evaluate(
                "[...document.querySelectorAll('#v1 .place.now')].map(p => p.dataset.place)"
            )
        )
        if len(seen) >= 3:
            break
        page.wait_for_timeout(100)
    assert len(seen) >= 3
    assert page.locator("#v1 .ground.here").count() == 1
    assert page.locator("#v1 .cursor").count() == 1
    assert page.locator("#v0 .now").count() == 0
    page.keyboard.press("Escape")
    page.click("#play")
    assert page.locator(".note.now, .place.now").count() == 0


def test_what_is_lit_is_what_sounds(page: Page) -> None:
    """At every moment of the plan the lit head and place are those of the sounding note."""
    found: list[list[str]] = page.evaluate(
        """() => {
          const { desk, versions } = window.review;
          desk.hear(1);
          return versions[1].notes.map(([at]) => {
            const notes = desk.plan().soundingAt(at + 0.01);
            desk.followers[1].show(notes, 0, { scroll: false });
            const lit = [...document.querySelectorAll("#v1 .now")];
            return lit.map((one) => one.id || one.dataset.place).sort();
          });
        }"""
    )
    part = _scores()[1].parts[0]
    notes = [
        (f"0.{m}.{v}.{e}.{n}", note.place)
        for m, measure in enumerate(part.measures)
        for v, voice in enumerate(measure.voices)
        for e, event in enumerate(voice.events)
        for n, note in enumerate(event.notes)
    ]
    assert found == [
        sorted([f"{place.string}.{place.fret}", f"v1-n{head}", f"v1-t{head}"])
        for head, place in notes
        if place is not None
    ]


def test_the_bar_is_behind_the_note(browser: Browser, tmp_path: Path) -> None:
    """The bar stands in the middle of the head that sounds, whatever is sung under it."""
    path = tmp_path / "song.html"
    song = read(ROOT / "samples" / "amazing-grace.musicxml")
    path.write_bytes(review_page([Version(score=song)]).html)
    with a_page(browser, path) as page:
        found: list[list[float]] = page.evaluate(
            """() => {
              const { desk, versions } = window.review;
              return versions[0].notes.slice(0, 12).map((note) => {
                const measure = Number(note[3].split(".")[1]);
                desk.followers[0].show([note], measure, { scroll: false });
                const head = document.querySelector(`[id="v0-n${note[3]}"] .notehead`);
                const [one, two] = [head, document.querySelector(".cursor")].map((shape) => {
                  const box = shape.getBoundingClientRect();
                  return (box.left + box.right) / 2;
                });
                return [one, two];
              });
            }"""
        )
    assert len(found) == 12
    for head, bar in found:
        assert bar == pytest.approx(head, abs=1)


def test_it_loops(page: Page) -> None:
    """A loop of one measure comes round again and never leaves the measure."""
    for name in ("from", "to"):
        page.select_option(f"#{name}", label="2")
    page.check("#loop")
    page.evaluate("window.review.desk.setSpeed(150)")
    assert page.locator("#v0 .ground.looped").count() == 1
    page.click("#play")
    wait_until(page, "window.review.desk.player.now() > window.review.desk.player.plan.length")
    where = page.evaluate(
        """() => {
          const { player } = window.review.desk;
          return [player.plan.sheetTime(player.now()), player.plan.start, player.plan.length];
        }"""
    )
    assert where[1] <= where[0] < where[1] + where[2]
    assert page.text_content("#where") == "Measure 2"
    assert _playing(page)


def test_speed_while_it_plays(page: Page) -> None:
    """A change of speed goes on from where the music is, and makes it slower from there."""
    page.click("#play")
    rates: list[float] = []
    for percent in (100, 50):
        page.evaluate(f"window.review.desk.setSpeed({percent})")
        page.wait_for_timeout(350)
        one = page.evaluate(_CLOCKS)
        page.wait_for_timeout(400)
        two = page.evaluate(_CLOCKS)
        rates.append((two[1] - one[1]) / (two[0] - one[0]))
        assert two[1] > one[1]
    assert rates == pytest.approx([1.0, 0.5], rel=0.02)


_CLOCKS = """() => {
  const { player } = window.review.desk;
  return [player.context.currentTime, player.now()];
}"""


def test_it_ends(page: Page) -> None:
    """At the end it stops by itself, says so, and stands at the start again."""
    page.evaluate("window.review.desk.setSpeed(150)")
    page.keyboard.press("2")
    page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    assert _playing(page)
    wait_until(page, "document.getElementById('play').ariaPressed === 'false'")
    assert page.text_content("#said") == "The end"
    assert page.text_content("#where") == "Measure 1"


def test_keys(page: Page) -> None:
    """Every listed key does what the list says."""
    state = """() => {
      const at = (id) => document.getElementById(id);
      return {
        heard: document.querySelector(".heard").id, where: at("where").textContent,
        speed: at("speed").value, loop: at("loop").checked, from: at("from").value,
        metronome: at("metronome").checked, countIn: at("count-in").checked,
        theme: document.documentElement.dataset.theme,
      };
    }"""
    for key in ("2", "ArrowRight", "-", "-", "[", "m", "c", "d"):
        page.keyboard.press(key)
    assert page.evaluate(state) == {
        "heard": "v1",
        "where": "Measure 2",
        "speed": "90",
        "loop": True,
        "from": "1",
        "metronome": True,
        "countIn": True,
        "theme": "dark",
    }
    for key in ("+", "l", "Home", "1"):
        page.keyboard.press(key)
    after: dict[str, Any] = page.evaluate(state)
    assert (after["speed"], after["loop"]) == ("95", False)
    assert (after["heard"], after["where"]) == ("v0", "Measure 1")
    page.keyboard.press("?")
    assert page.locator("dialog[open]").count() == 1
    page.keyboard.press("Escape")
    assert page.locator("dialog[open]").count() == 0
    listed = set(page.locator(".keys kbd").all_inner_texts())
    assert listed == {"Space", "Home", "←", "→", "1", "9", "-", "+", "[", "]", *"LMCD?"}
    page.evaluate("document.getElementById('use-keys').checked = false")
    page.keyboard.press("d")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_all_by_keyboard(page: Page) -> None:
    """Tab reaches every control in order, and each of them shows that it has the focus."""
    reached: list[str] = []
    for _ in range(40):
        page.keyboard.press("Tab")
        told = page.evaluate(
            """() => {
              const at = document.activeElement;
              const shown = getComputedStyle(at).outlineStyle !== "none";
              const name = at.id || at.dataset.listen || at.dataset.show || at.className;
              return [`${at.tagName.toLowerCase()} ${name}`, shown];
            }"""
        )
        if told[0].startswith("body"):
            break
        assert told[1], told[0]
        reached.append(told[0])
    wanted = ["a skip", "button theme", "button help", "button play", "button back"]
    assert reached[:5] == wanted
    for name in ("select version", "input speed", "input loop", "select from", "select to"):
        assert name in reached
    for number in range(3):
        assert f"button {number}" in reached
        assert f"input {number}" in reached


def test_choosing_what_is_shown(page: Page) -> None:
    """A version that is not chosen is not shown; the one that is heard moves on."""
    page.uncheck("[data-show='0']")
    assert page.locator("#v0").is_hidden()
    assert page.locator("#v1").get_attribute("class") == "version heard"
    page.check("[data-show='0']")
    assert page.locator("#v0").is_visible()


def test_pointing_at_a_measure(page: Page) -> None:
    """A measure that is pressed is where the music begins, in the version that it is of."""
    page.locator("#v2 .area[data-measure='1']").click()
    assert page.text_content("#where") == "Measure 2"
    assert page.input_value("#version") == "2"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe(browser: Browser, file: Path, scheme: str, width: int) -> None:
    """axe-core (its default rules, WCAG 2 A and AA and best practice) finds no violation."""
    wishes = {"color_scheme": scheme, "viewport": {"width": width, "height": 900}}
    with a_page(browser, file, **wishes) as page:
        page.evaluate(axe_source())
        found: list[dict[str, Any]] = page.evaluate("axe.run().then((r) => r.violations)")
        page.click("#help")
        found += page.evaluate("axe.run(document.getElementById('keys')).then((r) => r.violations)")
        wide = page.evaluate("document.documentElement.scrollWidth")
    told = [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]
    assert told == []
    assert wide <= width


def test_dark_is_dark(browser: Browser, file: Path) -> None:
    """The page follows the system's wish, and the button turns it over."""
    ink = "getComputedStyle(document.body).color"
    with a_page(browser, file, color_scheme="dark") as page:
        dark = page.evaluate(ink)
        page.click("#theme")
        assert page.get_attribute("#theme", "aria-pressed") == "false"
        light = page.evaluate(ink)
    assert sum(map(int, re.findall(r"\d+", dark))) > 600 > sum(map(int, re.findall(r"\d+", light)))


def test_without_motion(browser: Browser, file: Path) -> None:
    """Who wishes less motion gets no smooth scrolling."""
    style = "getComputedStyle(document.getElementById('versions')).scrollBehavior"
    for wish, behavior in (("reduce", "auto"), ("no-preference", "smooth")):
        with a_page(browser, file, reduced_motion=wish) as page:
            assert page.evaluate(style) == behavior


def test_on_paper(page: Page) -> None:
    """Printed, the desk goes, the paper is white in the dark too, lines keep their size."""
    page.keyboard.press("d")
    page.emulate_media(media="print")
    assert page.locator(".desk").is_hidden()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    box = page.locator("#v0 .line").first.bounding_box()
    assert box is not None
    # 132 mm at 96 pixels an inch (CSS).
    assert box["width"] == pytest.approx(132 / 25.4 * 96, abs=1)
    same = "[...document.querySelectorAll('.line')].every((l) => l.getAttribute('viewBox') === {})"
    wait_until(page, same.format("l.dataset.own"))
    page.emulate_media(media="screen")
    wait_until(page, same.format("l.dataset.row"))


def test_nothing_runs_from_a_title(browser: Browser, tmp_path: Path) -> None:
    """Titles, names and words of a file are shown as they are, and never run."""
    evil = "</script><img src=x onerror=alert(1)><svg onload=alert(1)>\"'&amp;{{data}}"
    score = replace(
        fingered(ROOT / "samples" / "harbour-riff.musicxml"),
        work_title=evil,
        movement_title="",
        creators=(("composer", evil),),
        rights=(("", evil),),
    )
    version = Version(score=score, name=evil, level=evil, practises=(evil,))
    path = tmp_path / "evil.html"
    path.write_bytes(review_page([version]).html)
    with a_page(browser, path) as page:
        page.on("dialog", lambda _: pytest.fail("a script of the title ran"))
        assert page.text_content("h1") == evil
        assert page.text_content("h2") == evil
        assert page.title() == evil
        assert page.evaluate("window.review.versions[0].name") == evil
        assert page.locator("img").count() == 0
