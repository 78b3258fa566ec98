// While something is worked out the page asks how far it is, and opens again when that has changed for good.
const waiting = document.querySelector("[data-await]");
const PAUSE = 1500;

async function look() {
  let over = false;
  try {
    const answer = await fetch(waiting.dataset.await, { headers: { accept: "application/json" } });
    const found = await answer.json();
    over = !answer.ok || !found.state?.working;
    const bar = waiting.querySelector("progress[max]");
    if (bar && found.state) bar.value = found.state.done;
  } catch {
    over = false; // out of reach: ask again
  }
  if (over) location.reload();
  else setTimeout(look, PAUSE);
}

if (waiting) setTimeout(look, PAUSE);
