// One screen at a time, one card at a time; where one is stands in the address, so that "back" goes back.

/** Open the screens; the answer is a function that goes to an anchor. */
function openScreens(holes) {
  const screens = [...document.querySelectorAll(".screen")];
  const cards = [...document.querySelectorAll(".card")];
  const byId = (id) => document.getElementById(id);
  const where = byId("where");
  let card = null;

  function alike(kind) {
    return cards.filter((one) => one.dataset.kind === kind && (one === card || !("plain" in one.dataset)));
  }

  function showScreen(name) {
    for (const one of screens) one.classList.toggle("on", one.id === name);
    for (const link of document.querySelectorAll("#screens a")) {
      if (link.hash === `#${name}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
  }

  function showCard(next) {
    card = next;
    for (const one of cards) one.classList.toggle("on", one === card);
    for (const button of document.querySelectorAll("[data-kind-of]")) {
      button.setAttribute("aria-pressed", String(button.dataset.kindOf === card.dataset.kind));
    }
    const row = alike(card.dataset.kind);
    const at = row.indexOf(card);
    where.textContent = `${at + 1} of ${row.length}`;
    for (const button of document.querySelectorAll("[data-step]")) {
      const next = row[at + Number(button.dataset.step)];
      button.disabled = !next;
      button.dataset.to = next ? next.id : "";
    }
  }

  /** Show what an anchor names: a screen, a card, or a hole in its card. */
  function show(anchor) {
    const target = byId(anchor) || byId("picture");
    for (const one of document.querySelectorAll(".picked")) one.classList.remove("picked");
    const itsCard = target.closest(".card");
    const screen = target.closest(".screen") || byId("picture");
    if (itsCard) showCard(itsCard);
    else if (screen.id === "cards") showCard(card || cards[0]);
    showScreen(screen.id);
    if (itsCard && target !== itsCard) target.classList.add("picked");
    if (target.matches(".card, .hole")) {
      target.focus({ preventScroll: true });
      target.scrollIntoView();
    } else {
      scrollTo(0, 0);
    }
  }

  /** Show an anchor and keep it in the address; a preview may refuse the address, and the page works all the same. */
  function go(anchor) {
    try {
      history.pushState(null, "", `#${anchor}`);
    } catch {
      // There is no "back" then.
    }
    show(anchor);
  }

  const follow = () => show(location.hash.slice(1));
  addEventListener("hashchange", follow);
  addEventListener("popstate", follow);
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href^='#']");
    if (!link) return;
    event.preventDefault();
    go(link.hash.slice(1));
  });
  byId("steps").addEventListener("click", (event) => {
    if (event.target.dataset.to) go(event.target.dataset.to);
  });
  byId("kinds").addEventListener("click", (event) => {
    const kind = event.target.dataset.kindOf;
    const first = kind && cards.find((one) => one.dataset.kind === kind);
    if (first) go(first.id);
  });
  openSearch(cards, holes, go);
  follow();
  return go;
}

/** The field that the lists are searched with; what it leaves is also what is printed. */
function openSearch(cards, holes, go) {
  const field = document.getElementById("search");
  const found = document.getElementById("found");
  const rows = [...document.querySelectorAll("#find li")];
  const cardOf = new Map(holes.map((hole) => [hole.anchor, document.getElementById(hole.anchor).closest(".card").id]));

  function search() {
    const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    const left = new Set();
    let count = 0;
    for (const row of rows) {
      const name = row.textContent.toLowerCase();
      row.hidden = !words.every((word) => name.includes(word));
      if (row.hidden) continue;
      count += 1;
      const anchor = row.firstElementChild.hash.slice(1);
      left.add(cardOf.get(anchor) || anchor);
    }
    for (const list of document.querySelectorAll("#find details")) list.hidden = !list.querySelector("li:not([hidden])");
    for (const card of cards) {
      card.classList.toggle("out", words.length ? !left.has(card.id) : "plain" in card.dataset);
    }
    found.textContent = words.length ? `${count} found` : "";
  }

  field.addEventListener("input", search);
  field.addEventListener("keydown", (event) => {
    const first = event.key === "Enter" && rows.find((row) => !row.hidden);
    if (first) go(first.firstElementChild.hash.slice(1));
  });
  search();
}
