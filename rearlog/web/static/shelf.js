// The shelf on a board at the wall stays true: it is drawn anew each minute while it is looked at.
const EVERY = 60000;

async function again() {
  if (document.hidden) return;
  try {
    const answer = await fetch("/", { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("main");
    const main = document.getElementById("main");
    if (fresh && fresh.innerHTML !== main.innerHTML && !main.contains(document.activeElement)) main.replaceChildren(...fresh.childNodes);
  } catch (error) {
    if (!(error instanceof TypeError)) throw error; // no network: what is shown stays
  }
}

setInterval(again, EVERY);
