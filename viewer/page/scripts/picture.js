// The building to turn: framing as ghosts with edges, cables as tubes in their circuit's dashes, holes, boxes.

const CABLE_RADIUS = { least: 0.25, most: 1.1, pixels: 1.7 }; // inches; a cable's true size is a hair from afar
const HOLE_LEAST = 1.7; // radius of a hole, in those of a cable
const BOX_MORE = 2; // inches that a box is drawn larger
const COLOURS = { wood: "#c9a36b", edge: "#b4aea6", box: "#dcdcdc", black: "#000000", hole: "#101010" };

/** Start the picture in its stage; throws where the browser draws no 3D. `open(kind, thing)` is called for a tap. */
function startPicture(data, kept, choose) {
  const stage = document.getElementById("stage");
  const renderer = new Three.WebGLRenderer({ antialias: true });
  const canvas = renderer.domElement;
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "img");
  canvas.setAttribute(
    "aria-label",
    "The building, to turn with a finger or the arrow keys. Everything in it is also in the lists of the screen Find.",
  );
  renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
  renderer.setClearColor("#ffffff");
  const scene = new Three.Scene();
  scene.add(new Three.HemisphereLight("#ffffff", "#b0a898", 2.4));
  const sun = new Three.DirectionalLight("#ffffff", 1.2);
  sun.position.set(3, -5, 8);
  scene.add(sun);
  const camera = new Three.OrthographicCamera(-1, 1, 1, -1, 1, 1e5);
  camera.up.set(0, 0, 1);
  const controls = new Three.OrbitControls(camera, canvas);
  controls.minZoom = 0.5;
  controls.maxZoom = 60;
  controls.zoomToCursor = true;

  const parts = [];
  const tag = Object.assign(document.createElement("div"), { id: "tag", hidden: true });
  const off = { storey: new Set(), circuit: new Set(), group: new Set() };
  let only = null; // the assembly (or lone member) that is looked at by itself
  let picked = null;
  let shown = { members: [], boxes: [], cables: [], holes: [] };
  let waiting = false;
  let radius = CABLE_RADIUS.most; // of the cables as they are drawn now

  const vector = (point) => new Three.Vector3(point[0], point[1], point[2]);
  const memberOf = new Map(data.members.map((member) => [member.id, member]));
  const dashOf = new Map(data.circuits.map((circuit) => [circuit.id, circuit]));

  function draw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      if (!canvas.clientWidth) return;
      renderer.render(scene, camera);
      placeTag();
    });
  }

  function matrixOf(solid) {
    const frame = data.axes[solid[6]];
    const basis = new Three.Matrix4().makeBasis(vector(frame.slice(0, 3)), vector(frame.slice(3, 6)), vector(frame.slice(6)));
    return basis
      .scale(new Three.Vector3(...solid.slice(3, 6).map((size) => Math.max(size, 0.05))))
      .setPosition(vector(solid));
  }

  function add(geometry, material, matrices, colours) {
    const mesh = new Three.InstancedMesh(geometry, material, Math.max(matrices.length, 1));
    matrices.forEach((matrix, i) => mesh.setMatrixAt(i, matrix));
    if (colours) colours.forEach((colour, i) => mesh.setColorAt(i, colour));
    mesh.count = matrices.length;
    mesh.frustumCulled = false;
    scene.add(mesh);
    parts.push(mesh);
    return mesh;
  }

  function cornersOf(solid) {
    const matrix = matrixOf(solid);
    const half = [-0.5, 0.5];
    return half.flatMap((a) => half.flatMap((b) => half.map((c) => new Three.Vector3(a, b, c).applyMatrix4(matrix))));
  }
  const EDGES = [[0, 1], [2, 3], [4, 5], [6, 7], [0, 2], [1, 3], [4, 6], [5, 7], [0, 4], [1, 5], [2, 6], [3, 7]];

  function addEdges(solids, colour) {
    const places = new Float32Array(solids.length * 72);
    let at = 0;
    for (const solid of solids) {
      const corners = cornersOf(solid);
      for (const edge of EDGES) for (const end of edge) at = (corners[end].toArray(places, at), at + 3);
    }
    const geometry = new Three.BufferGeometry();
    geometry.setAttribute("position", new Three.Float32BufferAttribute(places, 3));
    const lines = new Three.LineSegments(geometry, new Three.LineBasicMaterial({ color: colour }));
    lines.frustumCulled = false;
    scene.add(lines);
    parts.push(lines);
  }

  /** A cylinder (which stands along y) from one point to another. */
  function rod(from, to, radius, longer = 0) {
    const [a, b] = [vector(from), vector(to)];
    const along = b.clone().sub(a);
    const long = Math.max(along.length(), 1e-6);
    const turn = new Three.Quaternion().setFromUnitVectors(new Three.Vector3(0, 1, 0), along.divideScalar(long));
    return new Three.Matrix4().compose(a.add(b).multiplyScalar(0.5), turn, new Three.Vector3(radius, long + longer, radius));
  }

  /** A line cut into the dashes of its circuit: [from, to] pairs. */
  function dashes(points, pattern) {
    if (!pattern.length) return points.slice(1).map((to, i) => [points[i], to]);
    const lengths = pattern.map((part) => 4 * radius * part);
    const pieces = [];
    let [turn, left] = [0, lengths[0]];
    for (let i = 1; i < points.length; i += 1) {
      const [from, to] = [points[i - 1], points[i]];
      const long = Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
      const at = (s) => from.map((x, k) => x + ((to[k] - x) * s) / long);
      for (let s = 0; s < long - 1e-9; ) {
        const step = Math.min(left, long - s);
        if (turn % 2 === 0) pieces.push([at(s), at(s + step)]);
        s += step;
        left -= step;
        if (left <= 1e-9) left = lengths[(turn = (turn + 1) % lengths.length)];
      }
    }
    return pieces;
  }

  const geometries = {
    box: new Three.BoxGeometry(1, 1, 1),
    rod: new Three.CylinderGeometry(1, 1, 1, 10, 1),
    ring: new Three.TorusGeometry(1, 0.3, 8, 24).rotateX(Math.PI / 2),
  };
  const materials = {
    ghost: new Three.MeshLambertMaterial({ color: COLOURS.wood, transparent: true, opacity: 0.12, depthWrite: false }),
    box: new Three.MeshLambertMaterial({ color: COLOURS.box }),
    cable: new Three.MeshLambertMaterial({ color: "#ffffff" }),
    dark: new Three.MeshBasicMaterial({ color: COLOURS.hole }),
    mark: new Three.MeshBasicMaterial({ color: "#ffe600" }),
  };

  function holeRadius(hole) {
    return Math.max(hole.diameter * 0.6, HOLE_LEAST * radius);
  }

  /** How thick cables should be to be seen at the present scale. */
  function wantedRadius() {
    const inchesPerPixel = (camera.right - camera.left) / camera.zoom / Math.max(stage.clientWidth, 1);
    return Math.min(Math.max(CABLE_RADIUS.pixels * inchesPerPixel, CABLE_RADIUS.least), CABLE_RADIUS.most);
  }

  function scaled() {
    if (Math.abs(Math.log(wantedRadius() / radius)) > 0.25) build();
    else draw();
  }

  function visible() {
    const inside = (assembly, id) => !only || assembly === only || id === only;
    const members = data.members.filter(
      (one) => !off.storey.has(one.storey) && (only ? inside(one.assembly, one.id) : !off.group.has(one.group)),
    );
    const there = new Set(members.map((one) => one.id));
    const cables = data.cables.filter(
      (one) => !off.storey.has(one.storey) && !off.circuit.has(one.circuit) && (!only || one.assemblies.includes(only)),
    );
    const drawn = new Set(cables.map((one) => one.id));
    const boxes = data.boxes.filter(
      (one) =>
        !off.storey.has(one.storey) &&
        inside(one.assembly) &&
        (!one.circuits.length || one.circuits.some((circuit) => !off.circuit.has(circuit))),
    );
    const holes = data.holes.filter((one) => there.has(one.member) && one.cables.some((cable) => drawn.has(cable)));
    return { members, boxes, cables, holes };
  }

  function build() {
    for (const part of parts.splice(0)) {
      scene.remove(part);
      if (part.isInstancedMesh) part.dispose();
      else part.geometry.dispose();
    }
    shown = visible();
    radius = wantedRadius();
    const solids = shown.members.flatMap((member) => member.solids);
    add(geometries.box, materials.ghost, solids.map((solid) => matrixOf(solid)));
    addEdges(solids, COLOURS.edge);
    const bodies = shown.boxes.map(({ solids: [body] }) => body.map((x, i) => (i > 2 && i < 6 ? x + BOX_MORE : x)));
    add(geometries.box, materials.box, bodies.map((solid) => matrixOf(solid)));
    addEdges(bodies, COLOURS.black);
    const [tubes, colours] = [[], []];
    for (const cable of shown.cables) {
      const { colour, dash } = dashOf.get(cable.circuit);
      for (const [from, to] of dashes(cable.points, dash)) {
        tubes.push(rod(from, to, radius, dash.length ? 0 : radius));
        colours.push(new Three.Color(colour));
      }
    }
    add(geometries.rod, materials.cable, tubes, colours);
    const drilled = (hole) => !hole.room || kept.ticked("hole", hole.id);
    const plug = (hole) => rod(...hole.ends, holeRadius(hole), 0.3);
    add(geometries.rod, materials.dark, shown.holes.filter((hole) => !drilled(hole)).map(plug));
    const rings = shown.holes.filter(drilled).flatMap((hole) =>
      hole.ends.map((end, i) => {
        const other = hole.ends[1 - i];
        const long = Math.hypot(...end.map((x, k) => x - other[k])) || 1;
        const past = end.map((x, k) => x + (x - other[k]) / long);
        return rod(end, past, holeRadius(hole) * 1.3);
      }),
    );
    add(geometries.ring, materials.dark, rings);
    mark();
    draw();
  }

  /** What is picked wears a thick yellow and black frame and its name. */
  function mark() {
    tag.hidden = true;
    if (!picked) return;
    const { kind, thing } = picked;
    const frame = (solid) => {
      const corners = cornersOf(solid).map((corner) => corner.toArray());
      return EDGES.map(([a, b]) => rod(corners[a], corners[b], 0.7 * radius, 1.4 * radius));
    };
    if (kind === "hole") {
      const middle = thing.ends[0].map((x, k) => (x + thing.ends[1][k]) / 2);
      const ahead = middle.map((x, k) => x + (thing.ends[1][k] - thing.ends[0][k]));
      add(geometries.ring, materials.mark, [rod(middle, ahead, 4 * radius)]);
      add(geometries.ring, materials.dark, [rod(middle, ahead, 5.6 * radius)]);
    } else if (kind === "cable") {
      const legs = thing.points.slice(1).map((to, i) => [thing.points[i], to]);
      add(geometries.rod, materials.mark, legs.map(([from, to]) => rod(from, to, 1.7 * radius, radius)));
    } else {
      add(geometries.rod, materials.dark, thing.solids.flatMap(frame));
    }
    tag.textContent = thing.id;
    tag.hidden = false;
  }

  function middleOf({ kind, thing }) {
    if (kind === "hole") return thing.ends[0].map((x, k) => (x + thing.ends[1][k]) / 2);
    if (kind === "cable") return thing.points[Math.floor(thing.points.length / 2)];
    return thing.solids[0].slice(0, 3);
  }

  /** Where a point of the building is on the stage, in pixels from its corner. */
  function screen(point) {
    const at = vector(point).project(camera);
    return [((at.x + 1) / 2) * canvas.clientWidth, ((1 - at.y) / 2) * canvas.clientHeight];
  }

  function placeTag() {
    if (tag.hidden || !picked) return;
    const [x, y] = screen(middleOf(picked));
    const room = tag.offsetWidth / 2 + 4;
    tag.style.left = `${Math.min(Math.max(x, room), canvas.clientWidth - room)}px`;
    tag.style.top = `${Math.max(y, 2 * tag.offsetHeight)}px`;
  }

  function look(direction, up, points) {
    const box = points.reduce(
      (span, point) => span.map(([low, high], k) => [Math.min(low, point[k]), Math.max(high, point[k])]),
      [0, 1, 2].map(() => [Infinity, -Infinity]),
    );
    const target = vector(box.map(([low, high]) => (low + high) / 2));
    // What is on the screen does not depend on how far off the eye is: it is outside of everything.
    camera.position.copy(target).add(vector(direction).normalize().multiplyScalar(4e4));
    camera.up.copy(vector(up));
    camera.zoom = 1;
    controls.target.copy(target);
    camera.lookAt(target);
    camera.updateMatrixWorld();
    let [wide, high] = [1, 1];
    for (const point of points) {
      const at = vector(point).applyMatrix4(camera.matrixWorldInverse);
      wide = Math.max(wide, Math.abs(at.x));
      high = Math.max(high, Math.abs(at.y));
    }
    fit = { wide: wide * 1.08, high: high * 1.08 };
    resize();
    controls.update();
    scaled();
  }

  let fit = { wide: 100, high: 100 };
  function resize() {
    const [w, h] = [stage.clientWidth, stage.clientHeight];
    if (!w || !h) return;
    renderer.setSize(w, h, false);
    const half = Math.max(fit.wide / w, fit.high / h);
    Object.assign(camera, { left: -w * half, right: w * half, top: h * half, bottom: -h * half });
    camera.updateProjectionMatrix();
    draw();
  }

  const ends = (things) => things.flatMap((one) => one.solids.flatMap((solid) => cornersOf(solid).map((c) => c.toArray())));

  function whole() {
    only = null;
    build();
    look([1, -1, 0.82], [0, 0, 1], ends(shown.members.length ? shown.members : data.members));
  }

  /** The wall, ceiling or slope of a member by itself, seen from where one stands to bore it. */
  function lookAt(id) {
    const member = memberOf.get(id);
    const assembly = data.assemblies[member.assembly];
    only = assembly ? member.assembly : id;
    picked = { kind: "member", thing: member };
    build();
    if (!assembly) return look([1, -1, 0.82], [0, 0, 1], ends([member]));
    const from = assembly.kind === "wall" ? assembly.w : assembly.w.map((x) => -x);
    const tilt = assembly.kind === "wall" ? [0, 0, 0.12] : assembly.v.map((x) => -0.05 * x);
    return look(from.map((x, k) => x + tilt[k]), [0, 0, 1], ends([member, ...neighbours(member)]));
  }

  function neighbours(member) {
    const row = shown.members.filter((one) => one.group === member.group && one.assembly === member.assembly);
    const far = (one) => Math.hypot(...[0, 1, 2].map((k) => one.solids[0][k] - member.solids[0][k]));
    return row.sort((a, b) => far(a) - far(b)).slice(0, 5);
  }

  function turn(across, over) {
    const offset = camera.position.clone().sub(controls.target);
    const flat = Math.hypot(offset.x, offset.y);
    const [azimuth, height] = [Math.atan2(offset.y, offset.x) + across, Math.atan2(offset.z, flat) + over];
    const kept = Math.min(Math.max(height, -1.56), 1.56);
    const long = offset.length();
    offset.set(Math.cos(azimuth) * Math.cos(kept), Math.sin(azimuth) * Math.cos(kept), Math.sin(kept)).multiplyScalar(long);
    camera.position.copy(controls.target).add(offset);
    controls.update();
    draw();
  }

  function zoom(times) {
    camera.zoom = Math.min(Math.max(camera.zoom * times, controls.minZoom), controls.maxZoom);
    camera.updateProjectionMatrix();
    scaled();
  }

  const views = {
    whole,
    below: () => look([0, -0.3, -1], [0, 0, 1], ends(shown.members)),
    closer: () => zoom(1.5),
    farther: () => zoom(1 / 1.5),
  };
  const keys = {
    ArrowLeft: () => turn(-0.2, 0),
    ArrowRight: () => turn(0.2, 0),
    ArrowUp: () => turn(0, 0.2),
    ArrowDown: () => turn(0, -0.2),
    "+": views.closer,
    "-": views.farther,
  };

  function tap(x, y) {
    const at = (depth) => new Three.Vector3((2 * x) / canvas.clientWidth - 1, 1 - (2 * y) / canvas.clientHeight, depth).unproject(camera);
    const from = at(-1);
    const ray = { from: from.toArray(), along: at(1).sub(from).normalize().toArray() };
    choose(pickAt(x, y, ray, shown, data.axes, screen));
  }

  let down = null;
  canvas.addEventListener("pointerdown", (event) => {
    down = event.isPrimary ? { x: event.clientX, y: event.clientY } : null;
  });
  canvas.addEventListener("pointerup", (event) => {
    const still = down && Math.hypot(event.clientX - down.x, event.clientY - down.y) < 9;
    down = null;
    const frame = canvas.getBoundingClientRect();
    if (still) tap(event.clientX - frame.left, event.clientY - frame.top);
  });
  canvas.addEventListener("keydown", (event) => {
    if (!keys[event.key]) return;
    event.preventDefault();
    keys[event.key]();
  });
  document.getElementById("views").addEventListener("click", (event) => views[event.target.dataset.view]?.());
  document.getElementById("choices").addEventListener("change", (event) => {
    const { show, name } = event.target.dataset;
    if (event.target.checked) off[show].delete(name);
    else off[show].add(name);
    only = null;
    build();
  });
  for (const box of document.querySelectorAll("[data-show]")) if (!box.checked) off[box.dataset.show].add(box.dataset.name);
  controls.addEventListener("change", draw);
  controls.addEventListener("end", scaled);
  kept.onChange((ticks) => ticks && build());
  stage.append(canvas, tag);
  document.getElementById("drawing").hidden = true;
  new ResizeObserver(resize).observe(stage);
  whole();

  return {
    screen,
    whole,
    lookAt,
    pick(kind, thing) {
      picked = { kind, thing };
      build();
    },
  };
}
