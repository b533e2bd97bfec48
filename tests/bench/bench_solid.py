"""Timings of the model of a piece of 5,000 segments: made here, and drawn by a browser without a graphics card."""

import base64
import time
from pathlib import Path

from playwright.sync_api import Route, sync_playwright

from estimating.picture.segments import glued_courses, solids, turned_courses
from estimating.picture.solids import Model, write_glb, write_stl
from estimating.shape.build import Shape, build_shapes
from estimating.sheet import read_sheet
from tests.bench.bench_estimate import median_ms, piece

CHROMIUM = "/usr/bin/chromium"
LAYERS, SEGMENTS = 60, 84
FRAMES = 20
STATIC = Path(__file__).parents[2] / "static"
SIZE = {"width": 960, "height": 720}
TARGET_FPS = 30

# The stage is the page's own; drawing waits for the pixels, so that all of a frame's work is counted.
TIMED = """async ([glb, glued, frames]) => {
  const { Stage } = await import("/js/solid/stage.js");
  const { readModel } = await import("/js/solid/model.js");
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
  const canvas = document.querySelector("canvas");
  const start = performance.now();
  const stage = new Stage(canvas, { ground: "#fffefa", ink: "#23201c", mark: "#1c5863", still: true });
  stage.show(readModel(bytes(glb)));
  const pixel = new Uint8Array(4);
  const gl = stage.renderer.getContext();
  const frame = () => { stage.render(); gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel); };
  frame();
  const opened = performance.now() - start;
  const found = {};
  const time = (name) => {
    const times = [];
    for (let n = 0; n < frames; n += 1) {
      stage.view.turn += 0.07;
      const before = performance.now();
      frame();
      times.push(performance.now() - before);
    }
    const { calls, triangles } = stage.renderer.info.render;
    found[name] = { ms: times.sort((a, b) => a - b)[frames >> 1], calls, triangles };
  };
  time("turned");
  stage.cutAt(true, 30); time("cut"); stage.cutAt(false, 0);
  stage.through = true; time("seen through"); stage.through = false;
  stage.apart = 0.5; time("apart"); stage.apart = 0;
  stage.show(readModel(bytes(glb)), readModel(bytes(glued))); time("with the glued stack");
  return { opened, found };
}"""


def shape() -> Shape:
    """A smooth walled vase of 60 layers of 84 segments."""
    read = read_sheet(piece(layers=LAYERS, segments=SEGMENTS, smooth_wall=True))
    return build_shapes(read.parts, shop=read.shop)[0]


def glb(of: Shape, *, glued: bool = False) -> bytes:
    """The model as the page gets it."""
    courses = glued_courses(of) if glued else turned_courses(of)
    colours = {"maple": "#e9d5ae", "walnut": "#5b3826"}
    return write_glb([Model(courses)], colours=colours, title="Vase")


def drawn(of: Shape) -> None:
    """Frames in Chromium, the graphics card left out."""
    switches = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=switches)
        page = browser.new_page(viewport=SIZE)
        page.route("http://bench/**", _answer)
        page.goto("http://bench/")
        texts = [base64.b64encode(glb(of, glued=glued)).decode() for glued in (False, True)]
        told = page.evaluate(TIMED, [*texts, FRAMES])
        browser.close()
    print(f"opened in the browser, first frame included: {told['opened']:.0f} ms")
    for name, of_view in told["found"].items():
        fps = 1000 / of_view["ms"]
        print(
            f"a frame, {name}: {of_view['ms']:.0f} ms in software, {fps:.1f} a second; {of_view['calls']} draw calls, "
            f"{of_view['triangles']:,} triangles; target {TARGET_FPS} a second on a laptop's graphics"
        )


def _answer(route: Route) -> None:
    name = route.request.url.removeprefix("http://bench/")
    if not name:
        style = "margin:0;width:960px;height:720px"
        route.fulfill(
            body=f'<!doctype html><div style="{style}"><canvas></canvas></div>', content_type="text/html"
        )
        return
    route.fulfill(path=STATIC / name, content_type="text/javascript")


def main() -> None:
    """Print each timing."""
    of = shape()
    data = glb(of)
    print(f"{LAYERS * SEGMENTS:,} segments; the model is {len(data) / 1e6:.1f} MB")
    print(
        f"model: {median_ms(lambda: glb(of)):.0f} ms; as glued: {median_ms(lambda: glb(of, glued=True)):.0f} ms"
    )
    started = time.perf_counter()
    stl = write_stl((body, 0.0) for body in solids(of))
    print(f"solid: {1000 * (time.perf_counter() - started):.0f} ms; its STL is {len(stl) / 1e6:.1f} MB")
    volume = sum(course.bodies.volume for course in turned_courses(of)) / of.form.volume
    print(f"volume of the model against the form's: {abs(volume - 1):.1e}; target 1e-4")
    drawn(of)


if __name__ == "__main__":
    main()
