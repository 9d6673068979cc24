// The explorer's arithmetic: kernels/surface, volume, pools and drain, and analysis/draining, said again for a browser.
// Formulas, orders of sums and ways of breaking ties are those of the Python; DEVELOPERS.md derives them, and
// tests/test_explorer.py holds the two together. SI throughout; levels are about the cavity's centre, along up.
"use strict";

const Kernel = (() => {
  const HAIR = 1e-9; // into the cavity, as a share of its size: for a hanging tip whose ray misses every face by rounding
  const TOUCH_M = 2e-6; // a hanging part may be sunk into the surface below it by this

  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const least = (values) => values.reduce((a, b) => Math.min(a, b), Infinity);

  // --- a tank as the page packs it ------------------------------------------------------------------------------------

  // Vertices and faces from their packed text: see explorer.mesh in Python.
  async function unpack(mesh) {
    const packed = Uint8Array.from(atob(mesh.packed), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
    const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
    const count = 3 * mesh.vertices, split = 8 * count, short = mesh.vertices <= 65536;
    const whole = new Uint8Array(split);
    for (let place = 0; place < 8; place++) for (let i = 0; i < count; i++) whole[8 * i + place] = bytes[place * count + i];
    const view = new DataView(whole.buffer), rest = new DataView(bytes.buffer, split);
    const vertices = Float64Array.from({ length: count }, (_, i) => view.getFloat64(8 * i, true));
    const faces = Int32Array.from({ length: 3 * mesh.faces }, (_, i) => (short ? rest.getUint16(2 * i, true) : rest.getUint32(4 * i, true)));
    return body(vertices, faces, mesh.share, mesh.behind);
  }

  // A tank of the page's data, ready to be drained; its marks are the switches and then the dipstick's bottom. Of all are those that
  // it gives through.
  async function tank(given, all) {
    const marks = [...given.switches, ...(given.stick ? [given.stick.spot] : [])], outlets = [];
    for (const outlet of given.outlets) {
      const into = [];
      for (const one of outlet.into) into.push({ ...one, tank: await tank(all.find((other) => other.name === one.tank), all) });
      outlets.push({ ...outlet, into });
    }
    return { body: await unpack(given.mesh), outlets, marks };
  }

  // --- what does not depend on the attitude ---------------------------------------------------------------------------

  // A closed outward surface: vertices (3n) about its centre, faces (3m); share of what it encloses holds fuel;
  // behind: how much more than its share of what stays behind counts.
  function body(vertices, faces, share, behind = 1) {
    const areas = vectorAreas(vertices, faces);
    return { vertices, faces, share, behind, areas, edges: edgesOf(vertices, faces), normals: cornerNormals(vertices, faces, areas) };
  }

  function vectorAreas(v, faces) {
    const areas = new Float64Array(faces.length);
    for (let t = 0; t < faces.length; t += 3) {
      const a = 3 * faces[t], b = 3 * faces[t + 1], c = 3 * faces[t + 2];
      const bx = v[b] - v[a], by = v[b + 1] - v[a + 1], bz = v[b + 2] - v[a + 2];
      const cx = v[c] - v[a], cy = v[c + 1] - v[a + 1], cz = v[c + 2] - v[a + 2];
      areas[t] = 0.5 * (by * cz - bz * cy);
      areas[t + 1] = 0.5 * (bz * cx - bx * cz);
      areas[t + 2] = 0.5 * (bx * cy - by * cx);
    }
    return areas;
  }

  // Each edge once, lower index first, in rising order.
  function edgesOf(vertices, faces) {
    const n = vertices.length / 3, keys = new Float64Array(faces.length);
    for (let t = 0; t < faces.length; t += 3) {
      for (let k = 0; k < 3; k++) {
        const a = faces[t + k], b = faces[t + ((k + 1) % 3)];
        keys[t + k] = Math.min(a, b) * n + Math.max(a, b);
      }
    }
    keys.sort();
    const edges = [];
    for (let i = 0; i < keys.length; i++) {
      if (i === 0 || keys[i] !== keys[i - 1]) edges.push(Math.floor(keys[i] / n), keys[i] % n);
    }
    return Int32Array.from(edges);
  }

  // Sum of unit face normals at each vertex, weighted by the face's angle there.
  function cornerNormals(v, faces, areas) {
    const normals = new Float64Array(v.length);
    for (let k = 0; k < 3; k++) {
      for (let t = 0; t < faces.length; t += 3) {
        const size = Math.hypot(areas[t], areas[t + 1], areas[t + 2]) || 1.0;
        const here = 3 * faces[t + k], left = 3 * faces[t + ((k + 1) % 3)], right = 3 * faces[t + ((k + 2) % 3)];
        const ax = v[left] - v[here], ay = v[left + 1] - v[here + 1], az = v[left + 2] - v[here + 2];
        const bx = v[right] - v[here], by = v[right + 1] - v[here + 1], bz = v[right + 2] - v[here + 2];
        const sine = Math.hypot(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx);
        const angle = Math.atan2(sine, ax * bx + ay * by + az * bz);
        for (let axis = 0; axis < 3; axis++) normals[here + axis] += (angle * areas[t + axis]) / size;
      }
    }
    return normals;
  }

  // --- an attitude ----------------------------------------------------------------------------------------------------

  // Body axes x aft, y right, z up; pitch nose up, roll right wing down: the way that a free surface faces.
  function upOf(pitch, roll) {
    const up = [-Math.sin(pitch), -Math.cos(pitch) * Math.sin(roll), Math.cos(pitch) * Math.cos(roll)];
    const size = Math.sqrt(dot(up, up));
    return up.map((c) => c / size);
  }

  // Two directions of the plan, and up itself.
  function planAxes(up) {
    const size = up.map(Math.abs);
    const k = size.indexOf(Math.min(...size));
    const first = up.map((c) => -c * up[k]);
    first[k] += 1.0;
    const long = Math.sqrt(dot(first, first));
    const [a, b, c] = up, [d, e, f] = first.map((value) => value / long);
    return [[d, e, f], [b * f - c * e, c * d - a * f, a * e - b * d], [a, b, c]];
  }

  function along(v, way) {
    const out = new Float64Array(v.length / 3);
    for (let i = 0; i < out.length; i++) out[i] = v[3 * i] * way[0] + v[3 * i + 1] * way[1] + v[3 * i + 2] * way[2];
    return out;
  }

  // A body seen at an attitude: levels of its vertices, plan areas of its faces.
  function turn(of, up) {
    const axes = planAxes(up);
    const plan = along(of.areas, up);
    for (let t = 0; t < plan.length; t++) plan[t] *= of.share;
    const z = along(of.vertices, up);
    let low = Infinity, high = -Infinity;
    for (let i = 0; i < z.length; i++) {
      if (z[i] < low) low = z[i];
      if (z[i] > high) high = z[i];
    }
    return { body: of, up, axes, plan, z, low, high };
  }

  // --- volumes --------------------------------------------------------------------------------------------------------

  // Volume and surface area of each part's faces below the part's level: part (m), levels (parts).
  function byPart(turned, part, levels) {
    const { z, plan, body: { faces } } = turned;
    const volume = new Float64Array(levels.length), area = new Float64Array(levels.length);
    for (let t = 0; t < plan.length; t++) {
      const p = part ? part[t] : 0, h = levels[p];
      let z0 = z[faces[3 * t]], z1 = z[faces[3 * t + 1]], z2 = z[faces[3 * t + 2]];
      if (h >= z0 && h >= z1 && h >= z2) {
        volume[p] -= (plan[t] * (h - z0 + (h - z1) + (h - z2))) / 3.0;
        area[p] -= plan[t];
      } else if (h > z0 || h > z1 || h > z2) {
        let kept;
        if (z0 > z1) { kept = z0; z0 = z1; z1 = kept; }
        if (z1 > z2) { kept = z1; z1 = z2; z2 = kept; }
        if (z0 > z1) { kept = z0; z0 = z1; z1 = kept; }
        const a = h - z0, b = h - z1, over = z2 - h;
        if (b <= 0.0) {
          const share = (a / (z1 - z0)) * (a / (z2 - z0));
          volume[p] -= (plan[t] * (a * (a / (z1 - z0)) * (a / (z2 - z0)))) / 3.0;
          area[p] -= plan[t] * share;
        } else {
          const rest = over * (a / (z2 - z0));
          volume[p] -= (plan[t] * ((b * (a + b) + a * rest) / (z2 - z1))) / 3.0;
          area[p] -= plan[t] * ((b + rest) / (z2 - z1));
        }
      }
    }
    return { volume, area };
  }

  // Volume of the whole body below one level.
  const volumeBelow = (turned, level) => byPart(turned, null, [level]).volume[0];

  // --- pools ----------------------------------------------------------------------------------------------------------

  function root(parent, v) {
    while (parent[v] !== v) {
      parent[v] = parent[parent[v]];
      v = parent[v];
    }
    return v;
  }

  // First face straight below each point that is placed in the plan's axes; owner is the vertex that it lies on, or -1.
  function drop(placed, faces, points, owner, touch) {
    const [X, Y, Z] = placed, hit = new Int32Array(points.length).fill(-1);
    const hitZ = new Float64Array(points.length).fill(-Infinity);
    const order = points.map((_, i) => i).sort((i, j) => points[i][0] - points[j][0] || i - j);
    const across = order.map((i) => points[i][0]), last = across.length - 1;
    if (last < 0) return hit;
    for (let t = 0; t < faces.length; t += 3) {
      const i = faces[t], j = faces[t + 1], k = faces[t + 2];
      const lo = Math.min(X[i], X[j], X[k]), hi = Math.max(X[i], X[j], X[k]);
      if (hi < across[0] || lo > across[last]) continue;
      let from = 0, to = last + 1; // the first point that lies at lo or beyond
      while (from < to) {
        const middle = (from + to) >> 1;
        if (across[middle] >= lo) to = middle;
        else from = middle + 1;
      }
      for (let s = from; s <= last && across[s] <= hi; s++) {
        const r = order[s], [x, y, z] = points[r], own = owner[r];
        if (own === i || own === j || own === k) continue;
        if (y < Math.min(Y[i], Y[j], Y[k]) || y > Math.max(Y[i], Y[j], Y[k])) continue;
        const ax = X[i] - x, ay = Y[i] - y, bx = X[j] - x, by = Y[j] - y, cx = X[k] - x, cy = Y[k] - y;
        const wc = ax * by - ay * bx, wa = bx * cy - by * cx, wb = cx * ay - cy * ax;
        if (!((wa >= 0 && wb >= 0 && wc >= 0) || (wa <= 0 && wb <= 0 && wc <= 0))) continue;
        const whole = wa + wb + wc;
        if (whole === 0.0 || (own >= 0 && whole > 0.0)) continue; // upright, or the cavity lies below it
        let faceZ = (wa * Z[i] + wb * Z[j] + wc * Z[k]) / whole;
        faceZ = Math.min(Math.max(faceZ, Math.min(Z[i], Z[j], Z[k])), Math.max(Z[i], Z[j], Z[k]));
        if (faceZ <= z + (own >= 0 ? touch : 0.0) && faceZ > hitZ[r]) {
          hit[r] = t / 3;
          hitZ[r] = faceZ;
        }
      }
    }
    return hit;
  }

  // The pool tree, with the seed below each spot {point, face}; its arrays are those of kernels/pools.Tree.
  function grow(turned, spots) {
    const { body: { vertices, faces, edges, normals }, axes, z } = turned;
    const X = along(vertices, axes[0]), Y = along(vertices, axes[1]), placed = [X, Y, z], n = z.length;
    const lower = (a, b) => { // does a come before b in the order of an infinitely small tilt?
      if (z[a] !== z[b]) return z[a] < z[b];
      if (X[a] !== X[b]) return X[a] < X[b];
      return Y[a] !== Y[b] ? Y[a] < Y[b] : a < b;
    };
    const low = Int32Array.from({ length: n }, (_, i) => i);
    for (let e = 0; e < edges.length; e += 2) {
      let a = edges[e], b = edges[e + 1];
      if (lower(b, a)) [a, b] = [b, a];
      if (lower(a, low[b])) low[b] = a;
    }
    const links = tieTips(placed, faces, normals, axes, low, lower, vertices);
    const number = new Int32Array(n).fill(-1), seed = new Int32Array(n), seedVertex = [];
    for (let v = 0; v < n; v++) {
      const r = root(low, v);
      if (number[r] < 0) number[r] = seedVertex.push(r) - 1;
      seed[v] = number[r];
    }
    const faceSeed = new Int32Array(faces.length / 3);
    for (let t = 0; t < faceSeed.length; t++) {
      let v = faces[3 * t];
      for (let k = 1; k < 3; k++) if (lower(faces[3 * t + k], v)) v = faces[3 * t + k];
      faceSeed[t] = seed[v];
    }
    const ports = spots.map((spot) => axes.map((axis) => dot(spot.point, axis)));
    const below = drop(placed, faces, ports, ports.map(() => -1), 0.0);
    const portSeed = spots.map((spot, i) => (spot.face >= 0 ? spot.face : below[i])).map((t) => (t >= 0 ? faceSeed[t] : -1));
    return { seedVertex, faceSeed, portSeed, ...join(seedVertex.map((v) => z[v]), [edges, links], seed, z) };
  }

  // Point what hangs free to the surface below it, in low; links more for tips that are sunk into it.
  function tieTips(placed, faces, normals, axes, low, lower, vertices) {
    const [X, Y, Z] = placed, tips = [], outward = [];
    for (let v = 0; v < low.length; v++) {
      if (low[v] !== v) continue;
      const normal = axes.map((axis) => dot([normals[3 * v], normals[3 * v + 1], normals[3 * v + 2]], axis));
      if (normal[2] > 0.0) {
        tips.push(v);
        outward.push(normal);
      }
    }
    const below = drop(placed, faces, tips.map((v) => [X[v], Y[v], Z[v]]), tips, TOUCH_M);
    const missed = tips.map((_, i) => i).filter((i) => below[i] < 0);
    if (missed.length) {
      let size = 0.0;
      for (const c of vertices) size = Math.max(size, Math.abs(c));
      const aside = missed.map((i) => {
        const v = tips[i], [x, y] = outward[i], long = Math.max(Math.sqrt(x * x + y * y), 1e-300);
        return [X[v] - (HAIR * size * x) / long, Y[v] - (HAIR * size * y) / long, Z[v]];
      });
      const again = drop(placed, faces, aside, missed.map((i) => tips[i]), TOUCH_M);
      missed.forEach((i, k) => (below[i] = again[k]));
    }
    const links = [];
    tips.forEach((tip, i) => {
      if (below[i] < 0) throw new Error("a hanging point has no surface below it");
      let landing = faces[3 * below[i]];
      for (let k = 1; k < 3; k++) {
        const v = faces[3 * below[i] + k];
        if (lower(v, landing)) landing = v;
      }
      if (lower(landing, tip)) low[tip] = landing;
      else links.push(tip, landing);
    });
    return links;
  }

  // Join seeds along the edges between them, by their upper ends.
  function join(lows, lists, seed, z) {
    const between = [];
    for (const edges of lists) {
      for (let e = 0; e < edges.length; e += 2) {
        const a = edges[e], b = edges[e + 1];
        if (seed[a] !== seed[b]) between.push([Math.max(z[a], z[b]), seed[a], seed[b]]);
      }
    }
    between.sort((one, two) => one[0] - two[0]);
    const s = lows.length, group = Array.from({ length: 2 * s }, (_, i) => i);
    const parent = lows.map(() => -1), children = lows.map(() => [-1, -1]), floor = [...lows], top = lows.map(() => Infinity);
    for (const [upper, one, two] of between) {
      const a = root(group, one), b = root(group, two), node = parent.length;
      if (a === b) continue;
      group[a] = group[b] = parent[a] = parent[b] = node;
      top[a] = top[b] = upper;
      parent.push(-1);
      children.push([Math.min(a, b), Math.max(a, b)]);
      floor.push(upper);
      top.push(Infinity);
    }
    if (parent.filter((up) => up < 0).length !== 1) throw new Error("its inside is not one cavity");
    return { parent, children, floor, top };
  }

  // --- draining -------------------------------------------------------------------------------------------------------

  // The pool that a point above a seed belongs to when the surface is at a level.
  function nodeAt(tree, seed, level) {
    let node = seed;
    while (tree.parent[node] >= 0 && tree.top[node] <= level) node = tree.parent[node];
    return node;
  }

  // A way's highest point along the path whose highest point is lowest.
  function topOf(way, up) {
    const tops = way.pieces.map((points) => points.reduce((top, point) => Math.max(top, dot(point, up)), -Infinity));
    if (tops.length === 1) return tops[0];
    const reached = new Map([[way.start, -Infinity]]);
    for (let more = true; more; ) {
      more = false;
      way.steps.forEach(([from, to], i) => {
        const top = reached.has(from) ? Math.max(reached.get(from), tops[i]) : Infinity;
        if (top < (reached.has(to) ? reached.get(to) : Infinity)) {
          reached.set(to, top);
          more = true;
        }
      });
    }
    return reached.has(way.end) ? reached.get(way.end) : Math.max(...tops);
  }

  // Level at which the surface stops falling for an outlet: its own, its cover, its ways' highest points, what the tank that they lead
  // into keeps, the flow's height.
  function stopLevel(outlet, up) {
    const own = dot(outlet.point, up) + outlet.cover;
    const over = (heights) => {
      const needed = outlet.ways.map((way, i) => {
        const other = outlet.into[i], stands = other ? leftUnder(other, up) : -Infinity;
        return Math.max(topOf(way, up), stands, Math.max(dot(way.last, up), stands) + (heights[i] ?? -Infinity));
      });
      return Math.max(0.0, (needed.length ? least(needed) : -Infinity) - own);
    };
    const still = over([]), flowing = outlet.heights.length ? over(outlet.heights) - still : 0.0;
    return own + still + flowing;
  }

  // The level at which fuel stays under the end of a way into another tank, drained from full by itself, about the centre of the first.
  function leftUnder(other, up) {
    if (other.up !== up) {
      const drained = drain({ ...other.tank, marks: [other.end] }, up);
      Object.assign(other, { up, level: drained.end[drained.tree.portSeed[other.tank.outlets.length]] + dot(other.off, up) });
    }
    return other.level;
  }

  // A tank {body, outlets, marks} drained from full at an attitude: the end of each pool, as kernels/drain.drain has it.
  function drain(tank, up) {
    const turned = turn(tank.body, up), tree = grow(turned, [...tank.outlets, ...tank.marks]);
    const n = tree.parent.length, stops = tank.outlets.map((outlet) => stopLevel(outlet, up));
    const stop = new Array(n).fill(Infinity), reaches = new Array(n).fill(false);
    stops.forEach((level, i) => {
      if (tree.portSeed[i] < 0) return;
      let node = nodeAt(tree, tree.portSeed[i], level);
      stop[node] = Math.min(stop[node], Math.max(level, tree.floor[node]));
      for (; node >= 0 && !reaches[node]; node = tree.parent[node]) reaches[node] = true;
    });
    const end = new Array(n).fill(NaN), fallsTo = new Array(n).fill(Infinity), drains = new Array(n).fill(false);
    for (let node = n - 1; node >= 0; node--) { // parents first
      const above = tree.parent[node];
      if (above >= 0 && !Number.isNaN(end[above])) { // the surface never comes down to where this pool would be one
        end[node] = end[above];
        fallsTo[node] = fallsTo[above];
        drains[node] = drains[above];
        continue;
      }
      const full = above >= 0 ? tree.floor[above] : turned.high, [one, two] = tree.children[node];
      drains[node] = reaches[node];
      if (!reaches[node]) end[node] = full;
      else if (one >= 0 && (reaches[one] || reaches[two])) fallsTo[node] = tree.floor[node];
      else end[node] = fallsTo[node] = Math.min(stop[node], full);
    }
    const seeds = tree.seedVertex.length, pool = Array.from({ length: n }, (_, i) => i);
    for (let node = n - 1; node >= 0; node--) {
      const above = tree.parent[node];
      if (above >= 0 && !Number.isNaN(end[above])) pool[node] = pool[above];
    }
    const held = byPart(turned, tree.faceSeed, end.slice(0, seeds)).volume;
    let residual = 0.0, trapped = 0.0;
    for (let s = 0; s < seeds; s++) {
      if (drains[s]) residual += tank.body.behind * held[s];
      else trapped += tank.body.behind * held[s];
    }
    return { tank, turned, tree, seeds, stops, reaches, end, fallsTo, drains, pool, residual, trapped };
  }

  // Levels of all seeds when the falling surface passes a mark, null where it never does: [other pools drained, not begun].
  function levelsWhenPassed(drained, seed, level) {
    const { tree, turned, end, fallsTo, drains, seeds } = drained;
    if (seed < 0 || level > turned.high) return null;
    const mark = nodeAt(tree, seed, level);
    if (level < tree.floor[mark]) return null;
    let low = Infinity;
    for (let s = 0; s < seeds; s++) low = Math.min(low, tree.floor[s]);
    const hair = 1e-9 * (turned.high - low), below = nodeAt(tree, seed, level - hair);
    if (!drains[below] || fallsTo[below] > level - hair) return null;
    const n = tree.parent.length, onPath = new Array(n).fill(false);
    for (let node = mark; node >= 0; node = tree.parent[node]) onPath[node] = true;
    const held = Array.from({ length: n }, () => [NaN, NaN]);
    for (let node = n - 1; node >= 0; node--) {
      const above = tree.parent[node];
      if (node === mark) held[node] = [level, level];
      else if (above >= 0 && !Number.isNaN(held[above][1])) held[node] = [...held[above]];
      else if (above >= 0 && drains[node] && !onPath[node]) held[node][1] = tree.floor[above];
    }
    return [0, 1].map((state) => Array.from({ length: seeds }, (_, s) => (Number.isNaN(held[s][state]) ? end[s] : held[s][state])));
  }

  // Quantity when the falling surface passes a mark (its index) raised along up; null: it never does.
  // State 0 takes all other pools as drained to their end (the least), 1 as not begun to fall (the most).
  function passed(drained, mark, raised, state) {
    const { tank, tree, turned } = drained;
    const level = dot(tank.marks[mark].point, turned.up) + raised;
    const levels = levelsWhenPassed(drained, tree.portSeed[tank.outlets.length + mark], level);
    return levels && byPart(turned, tree.faceSeed, levels[state]).volume.reduce((a, b) => a + b, 0.0);
  }

  // --- a quantity on its way down -------------------------------------------------------------------------------------

  // The tank drained from full until it holds a quantity: the level of each seed, and its pools with what they hold.
  // Less than what stays behind cannot come about so: the end is given then. Pools that drain each on their own have one
  // level together, as long as they can; apart tells that there are several, and what each holds is then not determined.
  function holding(drained, quantity) {
    const { turned, tree, end, seeds } = drained;
    const levelsAt = (h) => end.slice(0, seeds).map((level) => Math.max(level, h));
    let low = turned.high, high = turned.high;
    for (let s = 0; s < seeds; s++) low = Math.min(low, end[s]);
    let h = low, best = low, missed = Infinity;
    if (quantity > drained.residual + drained.trapped) {
      h = low + (high - low) * 0.5;
      for (let pass = 0; pass < 200; pass++) {
        const levels = levelsAt(h), { volume, area } = byPart(turned, tree.faceSeed, levels);
        let off = -quantity, slope = 0.0;
        for (let s = 0; s < seeds; s++) {
          off += volume[s];
          if (levels[s] === h) slope += area[s];
        }
        if (Math.abs(off) < missed) {
          best = h;
          missed = Math.abs(off);
        }
        if (off <= 0.0) low = h;
        if (off >= 0.0) high = h;
        const middle = low + (high - low) * 0.5, step = slope > 0.0 ? h - off / slope : middle;
        const next = step > low && step < high ? step : middle;
        if (next === h || high <= low || middle <= low || middle >= high) break;
        h = next;
      }
    }
    const levels = levelsAt(best), held = byPart(turned, tree.faceSeed, levels).volume;
    return { level: best, levels, ...poolsOf(drained, best, levels, held) };
  }

  function poolsOf(drained, h, levels, held) {
    const { tree, end, seeds, pool, reaches, fallsTo } = drained;
    const found = new Map(), ofSeed = new Int32Array(seeds);
    for (let s = 0; s < seeds; s++) {
      const node = end[s] >= h ? pool[s] : nodeAt(tree, s, h);
      if (!found.has(node)) {
        found.set(node, { node, volume: 0.0, level: levels[s], reaches: reaches[node], falls: fallsTo[node] < levels[s], seeds: [] });
      }
      const one = found.get(node);
      one.volume += held[s];
      one.seeds.push(s);
    }
    const pools = [...found.values()].sort((one, two) => two.volume - one.volume || one.node - two.node);
    pools.forEach((one, i) => one.seeds.forEach((s) => (ofSeed[s] = i)));
    const own = pools.filter((one) => one.reaches);
    const apart = own.length > 1 && own.some((one) => one.falls);
    return { pools, poolOfSeed: ofSeed, quantity: held.reduce((a, b) => a + b, 0.0), apart };
  }

  return { tank, body, upOf, turn, byPart, volumeBelow, drain, passed, holding, stopLevel, dot };
})();

if (typeof module !== "undefined") module.exports = Kernel;
