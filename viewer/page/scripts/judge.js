// Whether a hole may be where somebody has bored it, or would like to. The limits come with the plan, hole by hole.
//
// A hole here is { id, place: {along, across}, from: {along, across}, room, plates, pass }; see data.py. The answer is
// { grade: "yes" | "care" | "no", words: [sentence, ...] }. What it cannot tell is said in the page's own words.

/** Distance from a value to a span, 0 inside; an end that is null is open. */
function beside([low, high], value) {
  return Math.max(low === null ? -Infinity : low - value, high === null ? -Infinity : value - high, 0);
}

/** Judge one hole of a plan at a place; `placeOf(id)` is where a hole of the member is now, or null. */
function judge(hole, place, placeOf, metric) {
  const room = hole.room;
  const across = (inches) => formatLength(inches, metric, false);
  const along = (inches) => formatLength(inches, metric);
  const faults = [];
  const cares = [];
  const notes = [];
  const there = room.stretches.find((one) => beside(one.along, place.along) <= SAME);
  if (!there) {
    const spans = room.stretches.map((one) => `${along(one.along[0])} to ${along(one.along[1])}`).join(", or ");
    faults.push(`Along: only ${spans || "nowhere"} from the ${hole.from.along} (${room.bandRule}).`);
  } else if (beside(there.across, place.across) > SAME) {
    const [low, high] = there.across;
    faults.push(`Across: only ${across(low)} to ${across(high)} from the ${hole.from.across} there (${room.bandRule}).`);
  }
  for (const other of room.neighbours) {
    const at = placeOf(other.id) || other;
    const between = Math.hypot(at.along - place.along, at.across - place.across);
    if (between < other.apart - SAME) {
      const words = `${across(between)} from middle to middle of ${other.id}; ${across(other.apart)} is kept`;
      faults.push(`Too near its neighbour: ${words} (${room.gapRule}).`);
    }
  }
  for (const closed of room.closed) {
    if (Math.hypot(beside(closed.along, place.along), beside(closed.across, place.across)) < closed.apart - SAME) {
      faults.push(`Too near a notch, ${along(closed.along[0])} to ${along(closed.along[1])} along (${room.notchRule}).`);
    }
  }
  if (there && !faults.length) {
    const needed = platesNeeded(room, there, place);
    const more = needed.filter((face) => !hole.plates.includes(face));
    if (more.length) cares.push(`It needs a nail plate on the ${more.join(" and the ")}, which the plan does not have.`);
    else if (needed.length) notes.push(`It keeps its nail plate on the ${needed.join(" and the ")}.`);
  }
  if (room.bearings.some((span) => beside(span, place.along) < room.bearingApart - SAME)) {
    cares.push(`It is near where the wood rests on something (${room.bearingRule}).`);
  }
  return { grade: faults.length ? "no" : cares.length ? "care" : "yes", words: [...faults, ...cares, ...notes] };
}

/** Faces that need a nail plate with a hole at a place. */
function platesNeeded(room, stretch, place) {
  const [low, high] = room.faces;
  const needed = [];
  if (room.alwaysPlated || place.across < stretch.platesOff[0] - SAME) needed.push(low);
  if (place.across > stretch.platesOff[1] + SAME) needed.push(high);
  return needed;
}
