// What a finger means: everything near a point of the screen, less what goes without saying.

const FINGER = { hole: 16, box: 14, cable: 12 }; // pixels
const SQUARELY = 7; // pixels: a thing that is hit so well is meant, and not the cable through it

/** Distance from a point to a segment, all in pixels. */
function toSegment(x, y, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = dx * dx + dy * dy;
  const t = long ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / long)) : 0;
  return Math.hypot(a[0] + t * dx - x, a[1] + t * dy - y);
}

/** How far along a ray a box begins, or Infinity. A solid is [middle, size, number of its axes]; a ray {from, along}. */
function alongRay(ray, solid, axes) {
  const frame = axes[solid[6]];
  let [near, far] = [-Infinity, Infinity];
  for (let i = 0; i < 3; i += 1) {
    let [at, step] = [0, 0];
    for (let k = 0; k < 3; k += 1) {
      at += (ray.from[k] - solid[k]) * frame[3 * i + k];
      step += ray.along[k] * frame[3 * i + k];
    }
    const half = solid[3 + i] / 2;
    if (Math.abs(step) < 1e-9) {
      if (Math.abs(at) > half) return Infinity;
      continue;
    }
    const ends = [(-half - at) / step, (half - at) / step].sort((p, q) => p - q);
    near = Math.max(near, ends[0]);
    far = Math.min(far, ends[1]);
  }
  return near <= far ? near : Infinity;
}

/**
 * What is near a point: [{kind, thing}], the nearest first. A hole that is hit squarely goes before the cables through it,
 * a box before its cables, and anything before the member behind it.
 */
function pickAt(x, y, ray, shown, axes, screen) {
  const found = [];
  const near = (kind, thing, distance) => distance <= FINGER[kind] && found.push({ kind, thing, distance });
  for (const hole of shown.holes) {
    const [a, b] = hole.ends.map(screen);
    near("hole", hole, toSegment(x, y, a, b));
  }
  for (const box of shown.boxes) {
    const inside = alongRay(ray, box.solids[0], axes) < Infinity;
    const [u, v] = screen(box.solids[0]);
    near("box", box, inside ? 0 : Math.hypot(u - x, v - y));
  }
  const hit = (kind) => found.filter((one) => one.kind === kind && one.distance <= SQUARELY).map((one) => one.thing);
  const holes = hit("hole");
  const boxes = hit("box").map((box) => box.id);
  for (const cable of shown.cables) {
    if (holes.some((hole) => hole.cables.includes(cable.id)) || cable.ends.some((end) => boxes.includes(end))) continue;
    const line = cable.points.map(screen);
    near("cable", cable, Math.min(...line.slice(1).map((to, i) => toSegment(x, y, line[i], to))));
  }
  if (found.length) return found.sort((a, b) => a.distance - b.distance);
  let [best, first] = [null, Infinity];
  for (const member of shown.members) {
    for (const solid of member.solids) {
      const at = alongRay(ray, solid, axes);
      if (at < first) [best, first] = [member, at];
    }
  }
  return best ? [{ kind: "member", thing: best, distance: 0 }] : [];
}
