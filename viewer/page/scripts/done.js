// Ticks, moved holes and their verdicts, counts, and the file that is sent back.

const GRADES = { yes: "Yes: it keeps the limits.", care: "Yes, but:", no: "No." };
const DONE_WORDS = { hole: "drilled", cable: "pulled", box: "made_up" };

function openDone(data, kept) {
  const byId = (id) => document.getElementById(id);
  const bare = data.plan.metric ? "mm" : "in";
  const holes = new Map(data.holes.filter((hole) => hole.room).map((hole) => [hole.id, hole]));
  const ticks = [...document.querySelectorAll("[data-tick]")];
  const fields = [...document.querySelectorAll("[data-moved]")];
  const rows = new Map([...document.querySelectorAll("#find li")].map((row) => [row.firstElementChild.hash, row]));

  /** Where a hole is, by what has been typed; null if that is nothing, NaN in it if it is no length. */
  function placeOf(id) {
    const hole = holes.get(id);
    const typed = kept.moved(id);
    if (!hole || !(typed.along.trim() || typed.across.trim())) return null;
    const read = (way) => (typed[way].trim() ? readLength(typed[way], bare) : hole.place[way]);
    return { along: read("along"), across: read("across") };
  }

  function otherPlace(id) {
    const place = placeOf(id);
    return place && !Number.isNaN(place.along + place.across) ? place : null;
  }

  function verdict(id) {
    const hole = holes.get(id);
    const place = placeOf(id);
    if (!place) return null;
    const wrong = ["along", "across"].filter((way) => Number.isNaN(place[way]));
    if (wrong.length) {
      const like = data.plan.metric ? "2496 mm or 2.496 m" : `8' 2-1/4" or 98 1/4"`;
      return { grade: "no", head: "Not understood.", words: [`The ${wrong.join(" and the ")} is no length. Write it like ${like}.`] };
    }
    const { grade, words } = judge(hole, place, otherPlace, data.plan.metric);
    const across = formatLength(place.across, data.plan.metric, false);
    const read = `Read as ${formatLength(place.along, data.plan.metric)} along, ${across} across.`;
    const together = hole.together.length ? [`${hole.together.join(", ")}: bored in one go with it; that hole moves too.`] : [];
    return { grade, head: GRADES[grade], words: [...words, read, ...together] };
  }

  function showVerdict(output, found) {
    output.replaceChildren();
    if (!found) {
      delete output.dataset.grade;
      return;
    }
    output.dataset.grade = found.grade;
    output.append(Object.assign(document.createElement("b"), { textContent: found.head }));
    output.append(found.words.join(" "));
  }

  function show() {
    for (const box of ticks) {
      if (!box.disabled) box.checked = kept.ticked(box.dataset.tick, box.dataset.name);
    }
    for (const [id, hole] of holes) {
      const output = byId(`${hole.anchor}-verdict`);
      const found = verdict(id);
      const text = found ? [found.head, ...found.words].join("\n") : "";
      if (output.dataset.said !== text) {
        output.dataset.said = text;
        showVerdict(output, found);
      }
    }
    for (const field of fields) {
      if (field !== document.activeElement) field.value = kept.moved(field.dataset.name)[field.dataset.moved];
    }
    count();
    moves();
    byId("as-built").value = JSON.stringify(asBuilt(), null, 1);
    byId("kept-not").hidden = kept.works();
  }

  function count() {
    for (const kind of Object.keys(DONE_WORDS)) {
      const all = ticks.filter((box) => box.dataset.tick === kind);
      const done = all.filter((box) => box.checked);
      const bar = byId(`bar-${kind}`);
      bar.max = Math.max(all.length, 1);
      bar.value = done.length;
      byId(`count-${kind}`).textContent = `${done.length} of ${all.length}`;
      for (const box of all) {
        const anchor = box.closest(kind === "hole" ? ".hole" : ".card").id;
        rows.get(`#${anchor}`)?.toggleAttribute("data-done", box.checked);
      }
    }
  }

  function moves() {
    const list = byId("moves");
    list.replaceChildren();
    for (const [id, hole] of holes) {
      const found = verdict(id);
      if (!found) continue;
      const link = Object.assign(document.createElement("a"), { href: `#${hole.anchor}`, textContent: id });
      const item = document.createElement("li");
      item.append(link, ` ${found.head} ${found.words.join(" ")}`);
      list.append(item);
    }
    if (!list.childElementCount) list.append(Object.assign(document.createElement("li"), { textContent: "none" }));
  }

  /** What is sent back; the shape is told in README.md. */
  function asBuilt() {
    const things = { hole: {}, cable: {}, box: {} };
    for (const box of ticks) {
      const { tick, name } = box.dataset;
      if (box.checked && !box.disabled) things[tick][name] = { [DONE_WORDS[tick]]: true };
    }
    for (const id of holes.keys()) {
      const place = otherPlace(id);
      if (!place) continue;
      things.hole[id] = { ...things.hole[id], along_in: place.along, across_in: place.across, typed: kept.moved(id) };
    }
    const { title, hash } = data.plan;
    return { what: "barnloom as built", version: 1, plan: { title, hash }, holes: things.hole, cables: things.cable, boxes: things.box };
  }

  function say(text) {
    byId("sent").textContent = text;
  }

  function save() {
    const file = new Blob([`${JSON.stringify(asBuilt(), null, 1)}\n`], { type: "application/json" });
    const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(file), download: "as-built.json" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    say("Saved as as-built.json. If your browser saves nothing, copy the text.");
  }

  async function copy() {
    const text = byId("as-built");
    try {
      await navigator.clipboard.writeText(text.value);
    } catch {
      text.select();
      if (!document.execCommand("copy")) return say("Not copied: press long on the text and copy it yourself.");
    }
    return say("Copied.");
  }

  /** Take over what another phone has sent: its ticks and moves come on top of those here. */
  function take() {
    let sent;
    try {
      sent = JSON.parse(byId("as-built").value);
    } catch {
      return say("That is no text of this kind.");
    }
    if (sent?.what !== "barnloom as built" || sent.version !== 1) return say("That is no text of this kind.");
    const known = { hole: new Set(), cable: new Set(), box: new Set() };
    for (const box of ticks) known[box.dataset.tick].add(box.dataset.name);
    let [taken, strange] = [0, 0];
    for (const [kind, list] of [["hole", sent.holes], ["cable", sent.cables], ["box", sent.boxes]]) {
      for (const [id, said] of Object.entries(list || {})) {
        if (!known[kind].has(id)) {
          strange += 1;
          continue;
        }
        taken += 1;
        if (said?.[DONE_WORDS[kind]] === true) kept.tick(kind, id, true);
        if (kind !== "hole" || !said?.typed) continue;
        for (const way of ["along", "across"]) if (typeof said.typed[way] === "string") kept.move(id, way, said.typed[way].slice(0, 60));
      }
    }
    const other = sent.plan?.hash === data.plan.hash ? "" : " It is of another plan than this page.";
    return say(`${taken} taken over${strange ? `, ${strange} not known here` : ""}.${other}`);
  }

  document.addEventListener("change", (event) => {
    const { tick, name } = event.target.dataset;
    if (tick) kept.tick(tick, name, event.target.checked);
  });
  document.addEventListener("input", (event) => {
    const { moved, name } = event.target.dataset;
    if (!moved) return;
    kept.move(name, moved, event.target.value);
    byId(`${holes.get(name).anchor}-verdict`).scrollIntoView({ block: "nearest" });
  });
  byId("save").addEventListener("click", save);
  byId("copy").addEventListener("click", copy);
  byId("take").addEventListener("click", take);
  kept.onChange(() => show());
  show();
}
