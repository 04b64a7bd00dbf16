// What has been ticked and moved, kept on this device where the browser lets us, under the plan's own name.

/** Open what is kept of a plan; `kept.works` is false where nothing can be kept. */
function openKept(plan) {
  const key = `barnloom/${plan.title}/${plan.hash}`;
  const empty = () => ({ hole: {}, cable: {}, box: {}, moved: {} });
  const listeners = [];
  let all = empty();
  let works = true;
  try {
    const text = localStorage.getItem(key);
    if (text) all = Object.assign(empty(), JSON.parse(text));
    localStorage.setItem(key, JSON.stringify(all));
  } catch {
    works = false;
  }

  function changed() {
    try {
      if (works) localStorage.setItem(key, JSON.stringify(all));
    } catch {
      works = false;
    }
    for (const listener of listeners) listener();
  }

  return {
    works: () => works,
    onChange: (listener) => listeners.push(listener),
    ticked: (kind, id) => Object.hasOwn(all[kind], id),
    moved: (id) => (Object.hasOwn(all.moved, id) ? all.moved[id] : { along: "", across: "" }),
    tick(kind, id, on) {
      if (on) all[kind][id] = true;
      else delete all[kind][id];
      changed();
    },
    move(id, way, text) {
      const typed = { ...this.moved(id), [way]: text };
      if (typed.along.trim() || typed.across.trim()) all.moved[id] = typed;
      else delete all.moved[id];
      changed();
    },
    replace(next) {
      all = Object.assign(empty(), next);
      changed();
    },
  };
}
