"""The job sheet as a browser shows it: on a phone, on a laptop and on paper, with its 3D view turned by hand."""

import os
import shutil

import pytest
from playwright.sync_api import sync_playwright
from sheet_pages import built

pytestmark = pytest.mark.slow

EXAMPLES = ("loop_idler", "loop_drive_belt")
SIZES = {"phone": (390, 844), "laptop": (1280, 800)}
MM = 96.0 / 25.4
"""CSS pixels in a millimetre (CSS Values and Units Level 3, 5.2: 1 in is 96 px)."""
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1."""
MARGINS_MM = 24.0
"""Both side margins that the sheet's print rules set."""

SEEN = """() => {
  const gl = document.querySelector('#view canvas').getContext('webgl2');
  const [w, h] = [gl.drawingBufferWidth, gl.drawingBufferHeight];
  const pixels = new Uint8Array(4 * w * h);
  gl.readPixels(0, 0, w, h, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
  let body = 0, sum = 0;
  for (let i = 0; i < pixels.length; i += 4) {
    const off = [0, 1, 2].map((k) => Math.abs(pixels[i + k] - pixels[k]));  // the corner shows background
    if (off[0] + off[1] + off[2] > 24) body++;
    sum = (sum * 31 + pixels[i] + 7 * pixels[i + 1] + 13 * pixels[i + 2]) % 1000003;
  }
  return { share: body / (w * h), sum, error: gl.getError() };
}"""
TORN = """() => [...document.querySelectorAll('tr, figure, .mind, .drawing, ol.steps > li, .whole')]
  .filter((e) => getComputedStyle(e).breakInside !== 'avoid').map((e) => e.outerHTML.slice(0, 80))"""
STICKING_OUT = """() => {
  const wide = document.documentElement.clientWidth;
  const slides = (e) => ['auto', 'scroll'].includes(getComputedStyle(e).overflowX);
  const scrolled = (e) => e && (slides(e) || scrolled(e.parentElement));
  return [...document.querySelectorAll('main *')].filter((e) => e.getBoundingClientRect().right > wide + 0.5
    && !scrolled(e.parentElement)).map((e) => e.outerHTML.slice(0, 80));
}"""


@pytest.fixture(scope="module")
def browser():
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    assert chromium, "these tests need a browser: apt-get install -y chromium"
    flags = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
    if os.geteuid() == 0:
        flags.append("--no-sandbox")  # the browser's sandbox refuses to run as root, as in a container
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium, args=flags)
        yield running
        running.close()


@pytest.fixture(scope="module", params=EXAMPLES)
def sheet(request, tmp_path_factory):
    return built(request.param, tmp_path_factory.mktemp("out")).directory / "sheet.html"


@pytest.fixture
def opened(browser, sheet):
    """A function that opens the sheet at a size, with everything it complained of and asked for."""
    complaints, requests, pages = [], [], []

    def open_at(width, height):
        page = browser.new_page(viewport={"width": width, "height": height})
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda request: requests.append(request.url))
        page.goto(sheet.as_uri())
        pages.append(page)
        return page

    yield open_at
    for page in pages:
        page.close()
    assert complaints == []
    assert [url for url in requests if not url.startswith("data:image/png")] == [sheet.as_uri()] * len(pages)


@pytest.mark.parametrize("size", SIZES)
def test_fits_the_screen_without_sliding_sideways(opened, size):
    page = opened(*SIZES[size])
    assert page.evaluate("document.documentElement.scrollWidth") == SIZES[size][0]
    assert page.evaluate(STICKING_OUT) == []


@pytest.mark.parametrize("paper", PAPER)
def test_fits_the_paper_and_tears_no_row(opened, paper):
    wide, high = PAPER[paper]
    page = opened(round((wide - MARGINS_MM) * MM), 1000)
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= round((wide - MARGINS_MM) * MM)
    assert page.evaluate(STICKING_OUT) == []
    assert page.evaluate(TORN) == []
    # What is never torn must fit one page, less its upper and lower margin of 13 and 14 mm.
    tallest = page.evaluate(
        "Math.max(...[...document.querySelectorAll('.drawing, figure')].map((e) => e.offsetHeight))"
    )
    assert tallest <= (high - 27.0) * MM


@pytest.mark.parametrize("paper", PAPER)
def test_prints_on_a_handful_of_pages(opened, paper):
    pdf = opened(*SIZES["laptop"]).pdf(format=paper)
    assert 5 <= pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") <= 16


@pytest.mark.parametrize("size", SIZES)
def test_view_shows_bodies_that_turn_come_apart_hide_and_are_cut(opened, size):
    page = opened(*SIZES[size])
    page.locator("#view").scroll_into_view_if_needed()

    def seen():
        page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        return page.evaluate(SEEN)

    first = seen()
    assert first["error"] == 0
    assert 0.05 < first["share"] < 0.9
    box = page.locator("#view canvas").bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 90, y + 20, steps=4)
    page.mouse.up()
    turned = seen()
    assert turned["sum"] != first["sum"]
    page.locator("#cut").check()
    cut = seen()
    assert cut["sum"] != turned["sum"]
    page.locator("#cut").uncheck()
    page.locator("#view input[type=range]").fill("0")
    closed = seen()
    assert closed["sum"] not in (turned["sum"], cut["sum"])
    for choice in page.locator("[data-body]").all():
        choice.uncheck()
    assert seen()["share"] == 0.0
    page.locator("[data-body]").first.check()
    assert seen()["share"] > 0.05


def test_view_turns_under_a_finger_and_with_the_arrow_keys(browser, sheet):
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(sheet.as_uri())
    page.locator("#view").scroll_into_view_if_needed()
    first = page.evaluate(SEEN)
    canvas = page.locator("#view canvas").bounding_box()
    x, y = canvas["x"] + 0.5 * canvas["width"], canvas["y"] + 0.5 * canvas["height"]
    finger = context.new_cdp_session(page)
    for kind, dx in (("touchStart", 0), ("touchMove", 40), ("touchMove", 80)):
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x + dx, "y": y}]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_timeout(200)
    turned = page.evaluate(SEEN)
    assert turned["sum"] != first["sum"]
    page.locator("#view canvas").focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(200)
    assert page.evaluate(SEEN)["sum"] != turned["sum"]
    context.close()


def test_without_webgl_the_sheet_says_so_and_shows_the_rest(browser, sheet):
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null;")
    page.goto(sheet.as_uri())
    assert page.locator("#view .instead").is_visible()
    assert not page.locator("#view canvas").is_visible()
    assert page.locator(".pictures img").first.is_visible()
    page.close()
