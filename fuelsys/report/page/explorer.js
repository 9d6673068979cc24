// The attitude explorer: pitch, roll and quantity in, drawings and figures out. All that is computed comes from
// explorer_kernel.js; texts of the design reach the page as text only, never as markup.
"use strict";

(() => {
  const NEAR = 1e-9; // of the tank: an answer that is further off than this is another answer
  const LEAST_M3 = 1e-6; // a pool under a millilitre counts in the sums and is not listed
  const STEPS = { pitch: 0.5, roll: 0.5 };
  const VIEWS = { // the directions of the body (x aft, y right, z up) that lie to the right and up, and the one that looks away
    side: { across: 0, height: 2, along: [0, 1, 0], ends: ["fwd", "aft"] },
    rear: { across: 1, height: 2, along: [-1, 0, 0], ends: ["left", "right"] },
    plan: { across: 0, height: 1, along: [0, 0, -1], ends: ["fwd", "aft"] },
  };
  const SIGNS = { outlet: "▼", drain: "▽", vent: "△", filler: "◇", inlet: "▸", return: "▹" };
  const $ = (id) => document.getElementById(`ex-${id}`);
  const radians = (degrees) => (degrees * Math.PI) / 180;
  const clamped = (value, low, high) => Math.min(Math.max(value, low), high);

  let data, limits, tanks, state, drained, held, marked, waiting, aloud, colours;

  // --- words ----------------------------------------------------------------------------------------------------------

  const minus = (text) => text.replace("-", "−");
  // A quantity as the tables write it (Shown.figure), and as sentences do (Shown.text).
  function figure(value, kind) {
    const { si, digits, coarse } = data.units[kind], text = (value / si).toFixed(digits), nothing = Number(text) === 0;
    if (coarse && nothing && kind === "volume" && value > 0.5e-6) return `<${10 ** -digits}`;
    return minus(nothing ? text.replace("-", "") : text);
  }
  function told(value, kind) {
    const { unit, si, digits, coarse } = data.units[kind], size = Math.abs(value / si), least = 10 ** -digits;
    if (coarse && unit === "L" && size > 1e-12 && size < 0.0995) return size < 0.0005 ? "under 1 mL" : `${(size * 1e3).toFixed(0)} mL`;
    if (size < least / 2) return `${size > 1e-12 * least ? `under ${least.toFixed(digits)}` : "0"} ${unit}`;
    return `${figure(value, kind)} ${unit}`;
  }
  const degrees = (value) => minus(value.toFixed(1).replace(/^-0\.0$/, "0.0"));
  function minutes(seconds) {
    const value = Math.floor(seconds / 6 + 1e-3) / 10 + 0; // never more than there are
    return value >= 0 ? `${value.toFixed(1)} min` : "none left";
  }

  function element(kind, text, parent) {
    const made = document.createElement(kind);
    if (text !== undefined) made.textContent = text;
    if (parent) parent.append(made);
    return made;
  }

  function button(parent, text, act) {
    const made = element("button", text, parent);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  // --- its own examination --------------------------------------------------------------------------------------------

  // The page's answers computed anew: the first that is another one, in words, and how far off the furthest is.
  function examine(tank, given) {
    let furthest = 0.0, asked = 0;
    const other = (what, mine, theirs) => {
      asked++;
      const off = mine === null || theirs === null ? (mine === theirs ? 0.0 : Infinity) : Math.abs(mine - theirs) / given.gross;
      furthest = Math.max(furthest, off);
      return off <= NEAR ? "" : `${what} comes out as ${mine === null ? "never" : told(mine, "volume")}, where the page says ${theirs === null ? "never" : told(theirs, "volume")}`;
    };
    for (const [k, attitude] of data.attitudes.entries()) {
      const answer = given.answers[k], at = Kernel.drain(tank, attitude.up), where = `tank ${given.name}, ${attitude.name}`;
      let found = other(`${where}: residual fuel`, at.residual, answer.residual) || other(`${where}: trapped fuel`, at.trapped, answer.trapped);
      answer.switches.forEach(([trip, latest, reset], i) => {
        const { name, tolerance, differential } = given.switches[i], what = `${where}: switch ${name}`;
        const passed = [Kernel.passed(at, i, 0.0, 1), Kernel.passed(at, i, -tolerance, 0), Kernel.passed(at, i, differential, 1)];
        const never = passed[0] === null || passed[1] === null;
        found ||= other(`${what}, trip`, never ? null : passed[0], trip) || other(`${what}, latest trip`, never ? null : passed[1], latest);
        found ||= other(`${what}, reset`, never ? null : passed[2], reset);
      });
      if (found) return { found };
    }
    return { found: "", furthest, asked };
  }

  const here = () => $("body") !== null;

  function takeAway(why) {
    clearTimeout(waiting);
    clearTimeout(aloud);
    $("body").remove();
    $("said").classList.add("alarm");
    $("said").textContent = `The explorer has taken itself away: ${why}. All else on this page stands.`;
  }

  // --- what is drawn of a tank whatever its attitude --------------------------------------------------------------------

  // The cut across a view through a depth: closed courses of points [across, height], and directed pieces with their face.
  function section(body, view, depth) {
    const { vertices: v, faces } = body, n = v.length / 3, axis = view.along.findIndex((c) => c !== 0), sense = view.along[axis];
    const away = (i) => sense * v[3 * i + axis] - depth;
    const point = (a, b) => {
      const [i, j] = a < b ? [a, b] : [b, a], share = away(i) / (away(i) - away(j));
      const at = (k) => v[3 * i + k] + share * (v[3 * j + k] - v[3 * i + k]);
      return { key: i * n + j, at: [at(view.across), at(view.height)] };
    };
    const pieces = [], leads = new Map();
    for (let t = 0; t < faces.length; t += 3) {
      const beyond = [0, 1, 2].map((k) => away(faces[t + k]) >= 0.0);
      if (beyond[0] === beyond[1] && beyond[1] === beyond[2]) continue;
      const leaves = [0, 1, 2].find((k) => beyond[k] && !beyond[(k + 1) % 3]), enters = [0, 1, 2].find((k) => !beyond[k] && beyond[(k + 1) % 3]);
      const one = point(faces[t + leaves], faces[t + ((leaves + 1) % 3)]), two = point(faces[t + enters], faces[t + ((enters + 1) % 3)]);
      leads.set(one.key, pieces.push({ from: one.at, to: two.at, next: two.key, face: t / 3 }) - 1);
    }
    const courses = [], done = new Uint8Array(pieces.length);
    for (let first = 0; first < pieces.length; first++) {
      const course = [];
      for (let k = first; k !== undefined && !done[k]; k = leads.get(pieces[k].next)) {
        done[k] = 1;
        course.push(pieces[k].from);
      }
      if (course.length) courses.push(course);
    }
    return { pieces, courses };
  }

  // Edges at which the surface turns away from the eye, as pairs of points [across, height].
  function silhouette(body, pairs, view) {
    const { vertices: v, areas } = body, flat = (i) => [v[3 * i + view.across], v[3 * i + view.height]];
    const away = (t) => {
      const [x, y, z] = areas.subarray(3 * t, 3 * t + 3);
      return Kernel.dot([x, y, z], view.along) > 1e-9 * Math.hypot(x, y, z);
    };
    return pairs.filter(([, , one, two]) => away(one) !== away(two)).map(([a, b]) => [flat(a), flat(b)]);
  }

  // Each edge's corners and its two faces.
  function facePairs(body) {
    const { faces, vertices } = body, n = vertices.length / 3, open = new Map(), pairs = [];
    for (let t = 0; t < faces.length; t += 3) {
      for (let k = 0; k < 3; k++) {
        const a = faces[t + k], b = faces[t + ((k + 1) % 3)], key = Math.min(a, b) * n + Math.max(a, b);
        if (!open.has(key)) open.set(key, t / 3);
        else {
          pairs.push([a, b, open.get(key), t / 3]);
          open.delete(key);
        }
      }
    }
    return pairs;
  }

  function prepare(tank, given) {
    const { body } = tank, through = given.outlets[0].point, pairs = facePairs(body);
    const half = [0, 0, 0];
    for (let i = 0; i < body.vertices.length; i++) half[i % 3] = Math.max(half[i % 3], Math.abs(body.vertices[i]));
    const views = {};
    for (const [name, view] of Object.entries(VIEWS)) {
      const depth = Kernel.dot(through, view.along);
      views[name] = { ...view, depth, behind: silhouette(body, pairs, view), cut: name === "plan" ? null : section(body, view, depth) };
    }
    return { ...tank, given, views, half, ground: Kernel.turn(body, grounded().up), map: null };
  }

  // --- drawing ----------------------------------------------------------------------------------------------------------

  function canvasOf(name) {
    const canvas = $(name), width = canvas.clientWidth, height = canvas.clientHeight, fine = window.devicePixelRatio || 1;
    if (!width || !height) return null;
    if (canvas.width !== Math.round(width * fine) || canvas.height !== Math.round(height * fine)) {
      canvas.width = Math.round(width * fine);
      canvas.height = Math.round(height * fine);
    }
    const context = canvas.getContext("2d");
    context.setTransform(fine, 0, 0, fine, 0, 0);
    context.clearRect(0, 0, width, height);
    context.font = "12px Helvetica, Arial, sans-serif";
    context.lineJoin = "round";
    return { context, width, height };
  }

  // Room for the names to the left and to the right of a drawing, and the middle of what is left between.
  function roomOf(context, tank, view, width) {
    const sides = [14, 14];
    for (const mark of tank.given.marks) {
      const own = marked.get(`${mark.kind} ${mark.name}`), right = mark.point[view.across] > 0 ? 1 : 0;
      if (own) sides[right] = Math.min(Math.max(sides[right], context.measureText(`${own.name} ${own.word ? "wet" : ""}`).width + 16), 0.3 * width);
    }
    return { across: width - sides[0] - sides[1], middle: (width + sides[0] - sides[1]) / 2 };
  }

  function trace(context, points, place) {
    points.forEach((point, i) => {
      const [x, y] = place(point);
      if (i) context.lineTo(x, y);
      else context.moveTo(x, y);
    });
  }

  // Fill what lies between directed pieces and a line of one height: their signed strips together are the fuel itself.
  function fillStrips(context, strips, base, place, fill) {
    context.beginPath();
    for (const [[u, v], [s, t]] of strips) {
      trace(context, [[u, v], [s, t], [s, base], [u, base]], place);
      context.closePath();
    }
    context.fillStyle = fill;
    context.fill("nonzero");
  }

  // The middle of what signed strips enclose, and how large that is.
  function middleOf(strips, base) {
    let area = 0.0, across = 0.0, high = 0.0;
    for (const [[u, v], [s, t]] of strips) {
      const wide = u - s, one = base - v, two = base - t, part = (wide * (one + two)) / 2;
      area += part;
      across += wide * ((one * (2 * u + s) + two * (u + 2 * s)) / 6);
      high += (wide * ((one + two) * base - (one * one + one * two + two * two) / 3)) / 2;
    }
    return { area: Math.abs(area), at: [across / area, high / area] };
  }

  // Pieces of the walls under a pool's surface, each cut off at it, and where the surface meets walls: points [across, level].
  function under(pieces, poolOf, pool, level, turned) {
    const strips = [], ends = [];
    for (const piece of pieces) {
      if (poolOf(piece.face) !== pool) continue;
      let one = turned(piece.from), two = turned(piece.to);
      if (one[1] >= level && two[1] >= level) continue;
      if (one[1] >= level || two[1] >= level) {
        const share = (level - one[1]) / (two[1] - one[1]), at = [one[0] + share * (two[0] - one[0]), level];
        ends.push(at[0]);
        if (one[1] >= level) one = at;
        else two = at;
      }
      strips.push([one, two]);
    }
    return { strips, ends: ends.sort((a, b) => a - b) };
  }

  function drawSection(tank, name) {
    const paper = canvasOf(name);
    if (!paper) return;
    const { context, width, height } = paper, view = tank.views[name], { up } = drained.turned;
    const lean = Math.hypot(up[view.across], up[view.height]), a = up[view.across] / lean, b = up[view.height] / lean;
    const turned = ([u, v]) => [u * b - v * a, u * a + v * b];
    const most = Math.sin(radians(Math.min(90, Math.max(limits.pitch, limits.roll)))), wide = tank.half[view.across], high = tank.half[view.height];
    const room = roomOf(context, tank, view, width), scale = Math.min(room.across / (wide + high * most), (height - 36) / (high + wide * most)) / 2;
    const place = ([u, v]) => [room.middle + u * scale, height / 2 - v * scale];
    const onPaper = (point) => place(turned(point));
    drawAxis(context, view, wide, onPaper, width);
    context.beginPath();
    for (const course of view.cut.courses) {
      trace(context, course, onPaper);
      context.closePath();
    }
    context.fillStyle = colours.air;
    context.fill("nonzero");
    const labels = [], poolOf = (face) => held.poolOfSeed[drained.tree.faceSeed[face]];
    const beside = Kernel.dot(up, view.along) * view.depth; // what the plane's own place adds to a level
    held.pools.forEach((pool, i) => {
      const level = (pool.level - beside) / lean, { strips, ends } = under(view.cut.pieces, poolOf, i, level, turned);
      if (!strips.length) return;
      const [fill, line] = pool.reaches ? [colours.fuel, colours.fuelLine] : [colours.cutFuel, colours.cutLine];
      fillStrips(context, strips, level, place, fill);
      context.beginPath();
      for (let k = 0; k + 1 < ends.length; k += 2) trace(context, [[ends[k], level], [ends[k + 1], level]], place);
      stroke(context, line, 1.6);
      const { area, at } = middleOf(strips, level);
      if (pool.volume >= LEAST_M3 && area * scale * scale > 700) labels.push([place(at), told(pool.volume, "volume")]);
    });
    drawBehind(context, view, onPaper);
    context.beginPath();
    for (const course of view.cut.courses) {
      trace(context, course, onPaper);
      context.closePath();
    }
    stroke(context, colours.ink, 1.3);
    drawGravity(context, width, height);
    for (const [[x, y], text] of labels) write(context, text, x, y, "center");
    drawMarks(context, tank, view, onPaper, width, height);
  }

  function drawPlan(tank) {
    const paper = canvasOf("plan");
    if (!paper) return;
    const { context, width, height } = paper, view = tank.views.plan;
    const room = roomOf(context, tank, view, width), scale = Math.min(room.across / tank.half[0], (height - 36) / tank.half[1]) / 2;
    const place = ([u, v]) => [room.middle + u * scale, height / 2 - v * scale];
    drawAxis(context, view, tank.half[0], place, width);
    const base = -2 * tank.half[1], labels = [];
    surfaces(tank).forEach((strips, i) => {
      if (!strips.length) return;
      const pool = held.pools[i];
      fillStrips(context, strips, base, place, pool.reaches ? colours.fuel : colours.cutFuel);
      context.beginPath();
      for (const pair of strips) trace(context, pair, place);
      stroke(context, pool.reaches ? colours.fuelLine : colours.cutLine, 1.2);
      const { area, at } = middleOf(strips, base);
      if (pool.volume >= LEAST_M3 && area * scale * scale > 500) labels.push([place(at), told(pool.volume, "volume")]);
    });
    drawBehind(context, view, place);
    for (const [[x, y], text] of labels) write(context, text, x, y, "center");
    drawMarks(context, tank, view, place, width, height);
  }

  // The rim of each pool's free surface, seen from above: pairs of points [aft, right], directed.
  function surfaces(tank) {
    const { body: { vertices: v, faces }, z, } = drained.turned, found = held.pools.map(() => []);
    for (let t = 0; t < faces.length; t += 3) {
      const seed = drained.tree.faceSeed[t / 3], level = held.levels[seed];
      const above = [z[faces[t]] >= level, z[faces[t + 1]] >= level, z[faces[t + 2]] >= level];
      if (above[0] === above[1] && above[1] === above[2]) continue;
      const at = (k) => {
        let i = faces[t + k], j = faces[t + ((k + 1) % 3)];
        if (i > j) [i, j] = [j, i];
        const share = (level - z[i]) / (z[j] - z[i]);
        return [v[3 * i] + share * (v[3 * j] - v[3 * i]), v[3 * i + 1] + share * (v[3 * j + 1] - v[3 * i + 1])];
      };
      const leaves = [0, 1, 2].find((k) => above[k] && !above[(k + 1) % 3]), enters = [0, 1, 2].find((k) => !above[k] && above[(k + 1) % 3]);
      found[held.poolOfSeed[seed]].push([at(leaves), at(enters)]);
    }
    return found;
  }

  function stroke(context, colour, width) {
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.stroke();
  }

  function drawBehind(context, view, place) {
    context.beginPath();
    for (const edge of view.behind) trace(context, edge, place);
    context.globalAlpha = 0.55;
    stroke(context, colours.grey, 0.6);
    context.globalAlpha = 1;
  }

  // The aircraft's own axis through the tank, and which way its ends lie.
  function drawAxis(context, view, half, place, width) {
    context.beginPath();
    trace(context, [[-1.04 * half, 0], [1.04 * half, 0]], place);
    context.setLineDash([8, 3, 2, 3]);
    stroke(context, colours.rule, 1);
    context.setLineDash([]);
    write(context, `← ${view.ends[0]}`, 2, 8, "left", colours.grey);
    write(context, `${view.ends[1]} →`, width - 2, 8, "right", colours.grey);
  }

  function drawGravity(context, width, height) {
    context.beginPath();
    trace(context, [[width - 10, height - 30], [width - 10, height - 8], [width - 13, height - 13], [width - 7, height - 13], [width - 10, height - 8]], (point) => point);
    stroke(context, colours.grey, 1.2);
    write(context, "g", width - 20, height - 22, "center", colours.grey);
  }

  function write(context, text, x, y, align, colour = colours.ink) {
    context.textAlign = align;
    context.textBaseline = "middle";
    context.lineWidth = 3;
    context.strokeStyle = colours.ground;
    context.strokeText(text, x, y);
    context.fillStyle = colour;
    context.fillText(text, x, y);
  }

  // Signs of all fittings; names of switches and outlets, on either side, none over another.
  function drawMarks(context, tank, view, place, width, height) {
    const sides = [[], []];
    for (const mark of tank.given.marks) {
      const [x, y] = place([mark.point[view.across], mark.point[view.height]]), own = marked.get(`${mark.kind} ${mark.name}`);
      if (mark.kind === "switch") {
        context.beginPath();
        context.arc(x, y, 4.5, 0, 2 * Math.PI);
        context.fillStyle = own.wet ? colours.ink : colours.ground;
        context.fill();
        stroke(context, colours.ink, 1.5);
      } else write(context, SIGNS[mark.kind] ?? "+", x, y, "center");
      if (own) sides[mark.point[view.across] > 0 ? 1 : 0].push({ x, y, text: `${own.name} ${own.word}` });
    }
    const reach = [-1, 1].map((way) => way * Math.max(...corners(tank.half).map((corner) => way * place([corner[view.across], corner[view.height]])[0])));
    sides.forEach((labels, right) => {
      const way = right ? 1 : -1, edge = reach[right] + 10 * way;
      let last = 10;
      for (const { x, y, text } of labels.sort((one, two) => one.y - two.y)) {
        const wide = context.measureText(text).width, to = clamped(Math.max(y, last + 14), 8, height - 6);
        const from = right ? Math.min(edge, width - wide - 2) : Math.max(edge, wide + 2);
        last = to;
        if (way * (from - x) > 8) {
          context.beginPath();
          trace(context, [[x + 6 * way, y], [from - 3 * way, to]], (point) => point);
          stroke(context, colours.grey, 0.8);
        }
        write(context, text, from, to, right ? "left" : "right");
      }
    });
  }

  const corners = ([x, y, z]) => [-x, x].flatMap((a) => [-y, y].flatMap((b) => [-z, z].map((c) => [a, b, c])));

  // --- the map ----------------------------------------------------------------------------------------------------------

  // What stays behind over pitch and roll, computed a little at a time, coarse first.
  function growMap(tank) {
    clearTimeout(waiting);
    const began = { spent: 0 };
    const work = () => {
      const map = (tank.map ??= { size: 9, values: [], done: null }), until = performance.now() + 10;
      while (map.values.length < map.size ** 2 && performance.now() < until) {
        const k = map.values.length, step = (limit, i) => radians(-limit + (2 * limit * i) / (map.size - 1));
        let at;
        try {
          at = Kernel.drain(tank, Kernel.upOf(step(limits.pitch, Math.floor(k / map.size)), step(limits.roll, k % map.size)));
        } catch {
          return; // the map stays as coarse as it is
        }
        map.values.push(at.residual + at.trapped);
      }
      began.spent += 10;
      if (map.values.length === map.size ** 2) {
        map.done = { size: map.size, values: map.values };
        if (state.tank === tank) drawMap();
        if (map.size >= 33 || began.spent > 3000) return;
        map.size = 2 * map.size - 1;
        map.values = [];
      }
      waiting = setTimeout(work, 15);
    };
    waiting = setTimeout(work, 200);
  }

  function steps(least, most) { // 1, 2, 5, 10, ... that hold all figures; from zero where the least is nearly nothing
    const decade = Math.floor(Math.log10(Math.max(most, 1e-6))), series = [];
    for (let d = decade - 3; d < decade + 2; d++) for (const digit of [1, 2, 5]) series.push(Number(`${digit}e${d}`));
    const top = series.findIndex((value) => value > most), bottom = series.filter((value) => value <= Math.max(least, most / 100)).length - 1;
    const found = series.slice(Math.max(bottom, 0), top + 1);
    return least >= most / 100 ? found : [0, ...found.slice(1)];
  }

  function shade(share) {
    const stops = [[0, 251, 250, 246], [0.35, 244, 211, 189], [0.75, 198, 90, 30], [1, 107, 41, 5]];
    const k = Math.max(1, stops.findIndex((stop) => share <= stop[0])), [low, high] = [stops[k - 1], stops[k]], part = (share - low[0]) / (high[0] - low[0]);
    return [1, 2, 3].map((c) => Math.round(low[c] + part * (high[c] - low[c])));
  }

  const FRAME = [34, 6, 8, 30]; // left, top, right, bottom, px

  function mapPlace(width, height) {
    const [left, top, right, bottom] = FRAME, across = width - left - right, high = height - top - bottom;
    return {
      at: (pitch, roll) => [left + ((roll + limits.roll) / (2 * limits.roll)) * across, top + ((limits.pitch - pitch) / (2 * limits.pitch)) * high],
      back: (x, y) => [limits.pitch - ((y - top) / high) * 2 * limits.pitch, ((x - left) / across) * 2 * limits.roll - limits.roll],
    };
  }

  // A grid's figures as a picture, straight between its points.
  function mapPicture(done) {
    const wide = 160, picture = document.createElement("canvas"), unit = data.units.volume.si, { size } = done;
    picture.width = picture.height = wide;
    const values = done.values.map((value) => value / unit), edges = steps(Math.min(...values), Math.max(...values));
    const context = picture.getContext("2d"), image = context.createImageData(wide, wide), last = Math.max(1, edges.length - 2);
    const shades = edges.slice(1).map((_, k) => shade(k / last));
    for (let y = 0; y < wide; y++) {
      for (let x = 0; x < wide; x++) {
        const u = ((x + 0.5) / wide) * (size - 1), v = (1 - (y + 0.5) / wide) * (size - 1), i = Math.min(Math.floor(u), size - 2), j = Math.min(Math.floor(v), size - 2);
        const p = u - i, q = v - j, k = j * size + i;
        const value = (1 - q) * ((1 - p) * values[k] + p * values[k + 1]) + q * ((1 - p) * values[k + size] + p * values[k + size + 1]);
        const step = clamped(edges.filter((edge) => edge <= value).length - 1, 0, shades.length - 1);
        image.data.set([...shades[step], 255], 4 * (y * wide + x));
      }
    }
    context.putImageData(image, 0, 0);
    return { picture, edges, shades };
  }

  function drawMap() {
    const paper = canvasOf("map");
    if (!paper) return;
    const { context, width, height } = paper, { at } = mapPlace(width, height), [left, top] = at(limits.pitch, -limits.roll), [right, bottom] = at(-limits.pitch, limits.roll);
    const done = state.tank.map?.done;
    if (done) {
      if (!done.drawn) {
        done.drawn = mapPicture(done);
        nameSteps(done.drawn);
      }
      context.drawImage(done.drawn.picture, left, top, right - left, bottom - top);
    }
    context.strokeStyle = colours.grey;
    context.lineWidth = 1;
    context.strokeRect(left, top, right - left, bottom - top);
    for (const share of [-1, -0.5, 0, 0.5, 1]) {
      const [x] = at(0, share * limits.roll), [, y] = at(share * limits.pitch, 0);
      write(context, minus(String(share * limits.roll)), x, bottom + 9, share < 1 ? "center" : "right", colours.grey);
      write(context, minus(String(share * limits.pitch)), left - 4, clamped(y, 8, bottom), "right", colours.grey);
    }
    write(context, "roll [°]", (left + right) / 2, bottom + 22, "center", colours.grey);
    write(context, "pitch", left - 4, top + (bottom - top) / 4, "right", colours.grey);
    const low = at(limits.stated[0], limits.stated[2]), high = at(limits.stated[1], limits.stated[3]);
    context.setLineDash([4, 3]);
    context.strokeStyle = "#1d2429";
    context.lineWidth = 1;
    context.strokeRect(low[0], high[1], high[0] - low[0], low[1] - high[1]);
    context.setLineDash([]);
    data.attitudes.forEach((attitude, k) => dot(context, at(attitude.pitch, attitude.roll), 3.5, attitude.flight, String(k + 1)));
    const [x, y] = at(state.pitch, state.roll);
    for (const [radius, line, colour] of [[9, 5, "#fff"], [9, 2.5, "#1f5f8b"]]) {
      context.beginPath();
      context.arc(x, y, radius, 0, 2 * Math.PI);
      stroke(context, colour, line);
    }
  }

  function dot(context, [x, y], radius, filled, text) {
    context.beginPath();
    context.arc(x, y, radius, 0, 2 * Math.PI);
    context.fillStyle = filled ? "#1d2429" : "#fff";
    context.fill();
    stroke(context, filled ? "#fff" : "#1d2429", 1);
    context.lineWidth = 3;
    context.strokeStyle = "#fff";
    context.textAlign = "left";
    context.strokeText(text, x + 6, y - 6);
    context.fillStyle = "#1d2429";
    context.fillText(text, x + 6, y - 6);
  }

  function nameSteps({ edges, shades }) {
    const parent = $("steps");
    parent.replaceChildren();
    shades.forEach((colour, k) => {
      element("i", undefined, parent).style.background = `rgb(${colour.join(",")})`;
      element("span", ` ${edges[k]}–${edges[k + 1]} `, parent);
    });
    element("span", data.units.volume.unit, parent);
  }

  // --- figures ----------------------------------------------------------------------------------------------------------

  // How long usable fuel lasts at the worst: model/outflow.Outflow.least_s.
  function leastSeconds({ share, alone, returned, held: kept }, usable) {
    if (returned === null) return null;
    const least = Math.min(usable / (alone + returned), usable / alone, usable / share);
    return kept === null ? least : Math.max(least, (usable - kept) / alone);
  }

  function outletWord(i) {
    const { tree, stops, turned } = drained, seed = tree.portSeed[i], outlet = state.tank.outlets[i];
    if (seed < 0) return "stands in no fuel";
    const level = held.levels[seed], over = level - Kernel.dot(outlet.point, turned.up);
    if (level > stops[i] + 1e-9) return `covered, ${told(over, "length")} under the surface`;
    const needed = stops[i] - Kernel.dot(outlet.point, turned.up);
    return needed > 1e-9 ? `draws no more: it stops with ${told(needed, "length")} over it` : "uncovered, draws no more";
  }

  // Each switch: wet, dry or not determined, and what the tank holds when it trips here.
  function switchWord(i) {
    const { tree, turned } = drained, { outlets, marks } = state.tank, seed = tree.portSeed[outlets.length + i];
    const most = Kernel.passed(drained, i, 0.0, 1), least = held.apart ? Kernel.passed(drained, i, 0.0, 0) : most;
    let wet = seed >= 0 && held.levels[seed] - Kernel.dot(marks[i].point, turned.up) > 1e-12;
    let word = wet ? "wet" : "dry";
    if (held.apart && most !== null && most - least > LEAST_M3) {
      if (held.quantity > most) [wet, word] = [true, "wet"];
      else if (held.quantity < least) [wet, word] = [false, "dry"];
      else word = "wet or dry: other pools decide";
    }
    const range = most === null ? "never trips here" : least < most - LEAST_M3 ? `trips between ${figure(least, "volume")} and ${told(most, "volume")}` : `trips at ${told(most, "volume")}`;
    return { wet, word, range, trip: most };
  }

  const grounded = () => data.attitudes.find((attitude) => attitude.normal && !attitude.flight);

  function stickWord() {
    const { stick } = state.tank.given, { tree, turned } = drained, { outlets, marks, ground } = state.tank;
    const seed = tree.portSeed[outlets.length + marks.length - 1], level = held.levels[seed];
    const low = Kernel.dot(stick.bottom, turned.up), high = Kernel.dot(stick.top, turned.up);
    if (!(high > low)) return ["lies the wrong way here", ""];
    if (seed < 0 || level <= low) return ["dry", ""];
    if (level >= high) return ["wet to its top", ""];
    const share = (level - low) / (high - low), point = stick.bottom.map((c, k) => c + share * (stick.top[k] - c));
    const long = Math.hypot(...stick.top.map((c, k) => c - stick.bottom[k])), said = Kernel.volumeBelow(ground, Kernel.dot(point, ground.up));
    return [told((stick.zero === "top" ? 1 - share : share) * long, "length"), `from its ${stick.zero}, where its marks for ${grounded().name} say ${told(said, "volume")}`];
  }

  function putFigures(rows) {
    const parent = $("figures");
    while (parent.children.length < rows.length) {
      const row = element("div", undefined, parent);
      element("dt", "", row);
      const value = element("dd", "", row);
      element("b", "", value);
      element("span", "", value);
    }
    while (parent.children.length > rows.length) parent.lastChild.remove();
    rows.forEach(([name, large, small], i) => {
      const [title, value] = parent.children[i].children;
      title.textContent = name;
      value.children[0].textContent = large;
      value.children[1].textContent = large && small ? ` ${small}` : small;
    });
  }

  function figures() {
    const { given } = state.tank, { outflow } = given, left = drained.residual + drained.trapped;
    // Never above what still flows here: at an attitude that keeps more than any that is stated, less is left than tables say.
    const usable = held.quantity - Math.max(given.unusable, left), least = leastSeconds(outflow, usable), [length, marking] = given.stick ? stickWord() : ["", ""];
    const where = (pool) => (pool.falls ? "runs to an outlet" : pool.reaches ? "lies lower than its outlet draws" : "is cut off");
    const listed = held.pools.filter((pool) => pool.volume >= LEAST_M3), few = listed.slice(0, 4), cut = held.pools.filter((pool) => !pool.reaches);
    const more = listed.length > few.length ? `; ${listed.length - few.length} smaller` : "";
    putFigures([
      ["in the tank", told(held.quantity, "volume"), ""],
      ["usable at this attitude", told(Math.max(0.0, held.quantity - left), "volume"), ""],
      ["stays behind at this attitude", told(left, "volume"), `${figure(drained.residual, "volume")} residual, ${figure(drained.trapped, "volume")} trapped`],
      ["cut off from the outlets now", told(cut.reduce((sum, pool) => sum + pool.volume, 0), "volume"), ""],
      [`minutes left, usual (${data.reserve.phase}, ${data.reserve.flow})`, minutes(usable / outflow.share), left > given.unusable ? "above what stays behind here" : "above the tank's unusable fuel"],
      ["minutes left, least", least === null ? "not known" : minutes(least), least === null ? "the return flow is not stated" : "alone, with what is returned elsewhere"],
      ...given.outlets.map((outlet, i) => [outlet.name, "", outletWord(i)]),
      ...given.switches.map((one, i) => [`switch ${one.name}`, "", `${marked.get(`switch switch ${one.name}`).word}; ${marked.get(`switch switch ${one.name}`).range}`]),
      ...(given.stick ? [["dipstick reads", "", `${length} ${marking}`]] : []),
      [few.length === 1 ? "pool" : "pools", "", few.map((pool) => `${told(pool.volume, "volume")} ${where(pool)}`).join("; ") + more || "none"],
    ]);
  }

  function note() {
    const { given } = state.tank, left = drained.residual + drained.trapped, said = [], [low, high, leftmost, rightmost] = limits.stated;
    if (state.quantity < left - LEAST_M3) said.push(`Drained from full at this attitude it keeps ${told(left, "volume")}: that is shown, not ${told(state.quantity, "volume")}.`);
    if (given.fillable !== null && state.quantity > given.fillable + LEAST_M3) said.push(`It cannot be filled beyond ${told(given.fillable, "volume")}.`);
    if (held.apart) said.push("Outlets drain pools of their own: shown as if all stood at one level; what each holds is not determined.");
    const near = 0.05; // degrees: half of the last digit shown
    if (state.pitch < low - near || state.pitch > high + near || state.roll < leftmost - near || state.roll > rightmost + near) said.push("Outside the attitudes that the design states.");
    $("note").textContent = said.join(" ");
  }

  // --- a frame ----------------------------------------------------------------------------------------------------------

  function readColours() {
    const style = getComputedStyle($("body")), of = (name) => style.getPropertyValue(`--ex-${name}`).trim();
    colours = {
      ground: of("ground"), ink: of("ink"), grey: of("grey"), rule: of("rule"), air: of("air"), fuel: of("fuel"), fuelLine: of("fuel-line"),
      cutFuel: of("cut-fuel"), cutLine: of("cut-line"),
    };
  }

  function compute() {
    const { tank } = state;
    drained = Kernel.drain(tank, state.up);
    held = Kernel.holding(drained, state.quantity);
    marked = new Map();
    tank.given.switches.forEach((one, i) => marked.set(`switch switch ${one.name}`, { name: one.name, ...switchWord(i) }));
    tank.given.outlets.forEach((one, i) => marked.set(`outlet ${one.name}`, { name: one.name, word: "" }));
  }

  function draw() {
    for (const name of ["side", "rear"]) drawSection(state.tank, name);
    drawPlan(state.tank);
    drawMap();
  }

  let asked = 0;
  function show() {
    asked = asked || requestAnimationFrame(() => {
      asked = 0;
      try {
        compute();
      } catch (fault) {
        takeAway(`at pitch ${degrees(state.pitch)}°, roll ${degrees(state.roll)}° the surface of tank ${state.tank.given.name} passes through itself (${fault.message})`);
        return;
      }
      draw();
      figures();
      note();
      controls();
    });
    clearTimeout(aloud);
    aloud = setTimeout(settled, 400);
  }

  // When it rests: the state in words for those who listen, and in the address for those who send it on.
  function settled() {
    const { tank } = state, words = [...tank.given.switches.map((one) => `switch ${one.name} ${marked.get(`switch switch ${one.name}`).word}`), ...tank.given.outlets.map((one, i) => `${one.name} ${outletWord(i)}`)];
    $("aloud").textContent = `Tank ${tank.given.name}, pitch ${degrees(state.pitch)} degrees, roll ${degrees(state.roll)} degrees, ${told(held.quantity, "volume")}: ${words.join(", ")}.`;
    $("link").href = fragment();
    if (state.moved) {
      try {
        history.replaceState(null, "", fragment());
      } catch {
        // Some browsers allow no change of the address of a file: the link stays.
      }
    }
  }

  // --- controls ---------------------------------------------------------------------------------------------------------

  let typing = ""; // the box that somebody types in: its text is theirs

  function setAttitude(pitch, roll, up) {
    typing = "";
    state.pitch = clamped(pitch, -limits.pitch, limits.pitch);
    state.roll = clamped(roll, -limits.roll, limits.roll);
    state.up = up ?? Kernel.upOf(radians(state.pitch), radians(state.roll));
    state.moved = true;
    show();
  }

  function setQuantity(quantity) {
    typing = "";
    state.quantity = clamped(quantity, 0.0, state.tank.given.gross);
    state.moved = true;
    show();
  }

  const typed = () => data.units.volume.digits + (data.units.volume.coarse ? 1 : 0); // digits of the box: one can drain by drops

  function setTank(tank, share) {
    state.tank = tank;
    state.quantity = share * tank.given.gross;
    const { unit, si } = data.units.volume, digits = typed(), through = tank.given.outlets[0].point.map((c, k) => c + tank.given.centre[k]);
    for (const id of ["quantity", "quantity-number"]) Object.assign($(id), { min: 0, max: (tank.given.gross / si).toFixed(digits), step: 10 ** -digits });
    $("quantity-unit").textContent = unit;
    $("side-place").textContent = `from the left, cut at butt line ${told(Math.abs(through[1]), "length")}${Math.abs(through[1]) < 5e-4 ? "" : through[1] < 0 ? " left" : " right"}`;
    $("rear-place").textContent = `from behind, cut at station ${told(through[0], "length")}`;
    $("plan-place").textContent = "free surfaces from above, nose to the left";
    growMap(tank);
  }

  function controls() {
    const volume = data.units.volume, values = { pitch: state.pitch, roll: state.roll, quantity: state.quantity / volume.si };
    for (const [name, value] of Object.entries(values)) {
      $(name).value = value;
      $(name).setAttribute("aria-valuetext", name === "quantity" ? told(state.quantity, "volume") : `${degrees(value)} degrees`);
      if (typing !== name) $(`${name}-number`).value = value.toFixed(name === "quantity" ? typed() : 1);
    }
    [...$("tanks").children].forEach((one, k) => one.setAttribute("aria-pressed", tanks[k] === state.tank));
    [...$("attitudes").children].forEach((one, k) => one.setAttribute("aria-pressed", data.attitudes[k].up.every((c, i) => Math.abs(c - state.up[i]) < 1e-9)));
    [...$("which").children].forEach((one) => one.setAttribute("aria-pressed", one.dataset.view === state.view));
    for (const shown of $("views").children) shown.classList.toggle("shown", shown.dataset.view === state.view);
    drainTo();
  }

  // Buttons for the quantities that matter here: full, each switch's trip, all that flows drained.
  function drainTo() {
    const { given } = state.tank, left = drained.residual + drained.trapped;
    const wanted = [[given.fillable === null ? "brimful" : "filled", given.fillable ?? given.gross]];
    for (const one of given.switches) {
      const { trip } = marked.get(`switch switch ${one.name}`);
      if (trip !== null) wanted.push([`switch ${one.name} trips`, trip]);
    }
    wanted.push(["no more flows", left]);
    const parent = $("quantities");
    while (parent.children.length > wanted.length) parent.lastChild.remove();
    wanted.forEach(([text, quantity], k) => {
      const one = parent.children[k] ?? button(parent, "", () => setQuantity(Number(one.dataset.quantity)));
      one.textContent = text;
      one.dataset.quantity = quantity;
    });
  }

  function listen() {
    for (const name of ["pitch", "roll", "quantity"]) {
      const set = (value) => {
        if (!Number.isFinite(value)) return;
        if (name === "quantity") setQuantity(value * data.units.volume.si);
        else if (name === "pitch") setAttitude(value, state.roll);
        else setAttitude(state.pitch, value);
      };
      $(name).addEventListener("input", () => set($(name).valueAsNumber));
      $(`${name}-number`).addEventListener("input", () => {
        set($(`${name}-number`).valueAsNumber);
        typing = name;
      });
      $(`${name}-number`).addEventListener("change", () => {
        typing = "";
        controls();
      });
      $(name).addEventListener("keydown", (event) => {
        const whole = name === "quantity" ? state.tank.given.gross / data.units.volume.si : 0, small = STEPS[name] ?? whole / 200;
        const by = { ArrowUp: small, ArrowRight: small, ArrowDown: -small, ArrowLeft: -small, PageUp: 10 * small, PageDown: -10 * small }[event.key];
        if (by === undefined) return;
        event.preventDefault();
        const now = { pitch: state.pitch, roll: state.roll, quantity: state.quantity / data.units.volume.si }[name];
        set(name === "quantity" ? now + by : Math.round((now + by) / STEPS[name]) * STEPS[name]);
      });
    }
    listenMap();
    new ResizeObserver(() => here() && drained && draw()).observe($("views"));
    window.addEventListener("hashchange", () => here() && restore());
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
      if (!here()) return;
      readColours();
      show();
    });
  }

  function listenMap() {
    const canvas = $("map"), take = (event) => {
      const box = canvas.getBoundingClientRect(), [pitch, roll] = mapPlace(box.width, box.height).back(event.clientX - box.left, event.clientY - box.top);
      setAttitude(Math.round(pitch * 10) / 10, Math.round(roll * 10) / 10);
    };
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      take(event);
    });
    canvas.addEventListener("pointermove", (event) => canvas.hasPointerCapture(event.pointerId) && take(event));
    canvas.addEventListener("keydown", (event) => {
      const by = event.shiftKey ? 5 : STEPS.pitch, ways = { ArrowUp: [by, 0], ArrowDown: [-by, 0], ArrowRight: [0, by], ArrowLeft: [0, -by] }[event.key];
      if (!ways) return;
      event.preventDefault();
      setAttitude(state.pitch + ways[0], state.roll + ways[1]);
    });
  }

  // --- a state as a link ------------------------------------------------------------------------------------------------

  const plain = (value, digits) => String(Number(value.toFixed(digits)));
  const fragment = () => `#explorer/${encodeURIComponent(state.tank.given.name)}/pitch${plain(state.pitch, 2)}/roll${plain(state.roll, 2)}/${plain(state.quantity * 1e3, 3)}L`;

  // The state that the address names, if it names one.
  function restore() {
    const found = /^#explorer\/([^/]+)\/pitch(-?[\d.]+)\/roll(-?[\d.]+)\/([\d.]+)L$/.exec(location.hash);
    if (!found) return false;
    let name;
    try {
      name = decodeURIComponent(found[1]);
    } catch {
      return false;
    }
    const tank = tanks.find((one) => one.given.name === name), [pitch, roll, litres] = found.slice(2).map(Number);
    if (!tank || ![pitch, roll, litres].every(Number.isFinite)) return false;
    if (tank !== state.tank) setTank(tank, 0.25);
    state.quantity = clamped(litres / 1e3, 0.0, tank.given.gross);
    const same = data.attitudes.find((one) => Math.abs(one.pitch - pitch) < 0.005 && Math.abs(one.roll - roll) < 0.005);
    setAttitude(pitch, roll, same?.up);
    return true;
  }

  // --- opening ----------------------------------------------------------------------------------------------------------

  // How far the sliders reach, and the least and greatest pitch and roll that the design states.
  function reach() {
    const most = (name) => Math.max(...data.attitudes.map((attitude) => Math.abs(attitude[name])));
    const limit = (name) => clamped(10 * Math.ceil((most(name) + 1) / 10), 20, 80);
    const ends = (name) => [Math.min(...data.attitudes.map((one) => one[name])), Math.max(...data.attitudes.map((one) => one[name]))];
    return { pitch: limit("pitch"), roll: limit("roll"), stated: [...ends("pitch"), ...ends("roll")] };
  }

  const pause = () => new Promise((resolve) => setTimeout(resolve, 0));

  async function open() {
    data = JSON.parse(document.getElementById("explorer-data").textContent);
    if (typeof DecompressionStream === "undefined") return takeAway("this browser is too old to unpack it");
    tanks = [];
    let furthest = 0.0, answers = 0;
    for (const given of data.tanks) {
      const tank = await Kernel.tank(given, data.tanks), proof = examine(tank, given);
      if (proof.found) return takeAway(proof.found);
      furthest = Math.max(furthest, proof.furthest);
      answers += proof.asked;
      tanks.push(prepare(tank, given));
      await pause();
    }
    limits = reach();
    $("said").textContent = "";
    $("proved").textContent = `This browser computed ${answers} answers of this page anew before it showed anything; the furthest was off by ${furthest.toExponential(0)} of the tank.`;
    $("body").hidden = false;
    readColours();
    for (const tank of tanks) button($("tanks"), `Tank ${tank.given.name}`, () => (setTank(tank, state.quantity / state.tank.given.gross), (state.moved = true), show()));
    data.attitudes.forEach((one, k) => button($("attitudes"), `${k + 1} ${one.heading}`, () => setAttitude(one.pitch, one.roll, one.up)));
    for (const name of Object.keys(VIEWS)) button($("which"), name, () => ((state.view = name), show())).dataset.view = name;
    for (const name of ["pitch", "roll"]) for (const id of [name, `${name}-number`]) Object.assign($(id), { min: -limits[name], max: limits[name], step: id === name ? 0.01 : 0.1 });
    const start = data.attitudes.find((attitude) => attitude.normal && attitude.flight) ?? data.attitudes[0];
    state = { view: "side" };
    setTank(tanks[0], 0.25);
    setAttitude(start.pitch, start.roll, start.up);
    state.moved = false;
    listen();
    if (restore()) document.getElementById("explorer").scrollIntoView();
    for (const name of Object.keys(VIEWS)) $(name).setAttribute("aria-label", `${name} view of the tank with its fuel; the figures below say it in words`);
  }

  const start = () => open().catch((fault) => takeAway(`it failed (${fault.message})`));
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
  else start();
})();
