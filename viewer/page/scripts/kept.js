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

  /** Keep what there is now, and tell those who listen whether ticks have changed, or moves alone. */
  function changed(ticks) {
    try {
      if (works) localStorage.setItem(key, JSON.stringify(all));
    } catch {
      works = false;
    }
    for (const listener of listeners) listener(ticks);
  }

  return {
    works: () => works,
    onChange: (listener) => listeners.push(listener),
    ticked: (kind, id) => Object.hasOwn(all[kind], id),
    moved: (id) => (Object.hasOwn(all.moved, id) ? all.moved[id] : { along: "", across: "" }),
    tick(kind, id, on) {
      if (on) all[kind][id] = true;
      else delete all[kind][id];
      changed(true);
    },
    move(id, way, text) {
      const typed = { ...this.moved(id), [way]: text };
      if (typed.along.trim() || typed.across.trim()) all.moved[id] = typed;
      else delete all.moved[id];
      changed(false);
    },
  };
}
