// Start everything: what works without 3D first, the picture once the page has been drawn.

const data = JSON.parse(document.getElementById("data").textContent);
for (const hole of data.holes) if (hole.room) Object.assign(hole.room, data.rules[hole.room.rules]);
const kept = openKept(data.plan);
const go = openScreens(data.holes);
openDone(data, kept);
document.documentElement.classList.add("ready");

let picture = null;
const KINDS = { hole: "Hole", box: "Box", cable: "Cable", member: "Member" };
const chooser = document.getElementById("chooser");
document.getElementById("chooser-none").addEventListener("click", () => chooser.close());

function openCard({ kind, thing }) {
  if (chooser.open) chooser.close();
  picture.pick(kind, thing);
  go(thing.anchor);
}

/** One thing under the finger opens its card; of several one is asked which. */
function choose(found) {
  if (found.length < 2) return found.length ? openCard(found[0]) : undefined;
  const list = chooser.querySelector("ul");
  list.replaceChildren(
    ...found.slice(0, 8).map((one) => {
      const button = Object.assign(document.createElement("button"), { type: "button" });
      button.textContent = `${KINDS[one.kind]} ${one.thing.id}`;
      button.addEventListener("click", () => openCard(one));
      const item = document.createElement("li");
      item.append(button);
      return item;
    }),
  );
  return chooser.showModal();
}

function startLate() {
  try {
    picture = startPicture(data, kept, choose);
  } catch {
    document.documentElement.classList.add("flat");
    const note = document.getElementById("flat");
    note.textContent = "This browser draws no 3D. The drawing stands still; everything else works.";
    note.hidden = false;
    return;
  }
  document.addEventListener("click", (event) => {
    const id = event.target.dataset?.look;
    if (!id) return;
    go("picture");
    picture.lookAt(id);
  });
}

requestAnimationFrame(() => setTimeout(startLate));
globalThis.barnloom = { readLength, formatLength, judge, data, picture: () => picture };
