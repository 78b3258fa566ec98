"""The running judgement in the browser answers within 50 ms of what is typed, on a slow tablet too."""

from __future__ import annotations

import statistics

from entry_support import begin, browser, go, opened, served

TYPE = """() => {
  const input = document.querySelector("#reading"), said = document.querySelector(".said"), times = [];
  const seen = new Set();
  for (let number = 0; number < 200; number++) {
    input.value = `${(0.5 + 0.01 * number).toFixed(2)} mm`;
    const begun = performance.now();
    input.dispatchEvent(new Event("input", { bubbles: true }));
    said.getBoundingClientRect();
    times.push(performance.now() - begun);
    seen.add(said.querySelector("strong")?.textContent);
  }
  return [times, [...seen]];
}"""


def test_what_is_typed_is_judged_and_drawn_within_50_milliseconds() -> None:
    """From the event of typing to verdict and ruler laid out, with the processor slowed four times.

    Each value is typed three times and the quickest counts: what else the machine does is not measured.
    """
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Quick 1")
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
        go(page, f"#/d/{draft}/1L/total_travel/total_travel")
        page.wait_for_selector("#reading")
        rounds = [page.evaluate(TYPE) for _ in range(3)]
    times = [min(own) for own in zip(*(found for found, _ in rounds), strict=True)]
    assert {"within", "beyond"} <= set(rounds[0][1]), "every value was judged anew"
    slow = statistics.quantiles(times, n=20)[-1]
    assert slow < 50.0, f"95th percentile {slow:.1f} ms"
