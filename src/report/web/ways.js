// Two programs' ways in space, one over the other; the blocks of both under the pointer are shown.
import {LineBasicMaterial, LineDashedMaterial, Mesh, MeshBasicMaterial, SphereGeometry, Vector3} from 'three';
import {LineMaterial} from 'three/examples/jsm/lines/LineMaterial.js';
import {LineSegments2} from 'three/examples/jsm/lines/LineSegments2.js';
import {LineSegmentsGeometry} from 'three/examples/jsm/lines/LineSegmentsGeometry.js';
import {decode, drawnNote, endOf, kinds, linesOf, pickedFrom, upTo} from './course.js';
import {colour, element, extentOf, openStage, pin, value} from './stage.js';

const isCut = flags => (flags & 3) === 0;

/// Per stretch the length of all cuts up to its end, mm.
function cutLengths(course) {
  const sums = new Float64Array(course.count);
  let sum = 0;
  for (let k = 0; k < course.count; ++k) {
    if (isCut(course.flags[k])) {
      const e = 6 * k;
      sum += Math.hypot(course.ends[e + 3] - course.ends[e], course.ends[e + 4] - course.ends[e + 1], course.ends[e + 5] - course.ends[e + 2]);
    }
    sums[k] = sum;
  }
  return sums;
}

/// The first stretch that ends at `length` of the cuts or beyond it, else the last.
function stretchAt(sums, length) {
  let low = 0, high = sums.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sums[middle] >= length) high = middle;
    else low = middle + 1;
  }
  return low;
}

/// The lengths at which a stretch of either ends, each once, rising: the slider's places.
function placesOf(sides) {
  const all = Float64Array.from(sides.flatMap(side => [...side.sums])).sort();
  return all.filter((length, k) => k + 1 === all.length || all[k + 1] - length > 1e-4);
}

/// Where on stretch k the cuts are `length` long, mm.
function pointAt({course, sums}, k, length) {
  const begin = k ? sums[k - 1] : 0;
  const share = sums[k] > begin ? Math.min(1, Math.max(0, (length - begin) / (sums[k] - begin))) : 1;
  const from = new Vector3().fromArray(course.ends, 6 * k);
  return from.lerp(new Vector3().fromArray(course.ends, 6 * k + 3), share);
}

/// The cut of the other program that passes the point: of those that are as near as the nearest, give or take
/// what two ways that are the same differ by, the one whose place along the cuts is nearest to `length`.
function beside({course, sums}, point, length, same) {
  const {ends} = course, away = new Float64Array(course.count).fill(Infinity);
  let nearest = Infinity;
  for (let k = 0, e = 0; k < course.count; ++k, e += 6) {
    if (!isCut(course.flags[k])) continue;
    const x = ends[e], y = ends[e + 1], z = ends[e + 2];
    const dx = ends[e + 3] - x, dy = ends[e + 4] - y, dz = ends[e + 5] - z, square = dx * dx + dy * dy + dz * dz;
    const share = square > 0 ? Math.min(1, Math.max(0, ((point.x - x) * dx + (point.y - y) * dy + (point.z - z) * dz) / square)) : 0;
    away[k] = Math.hypot(x + share * dx - point.x, y + share * dy - point.y, z + share * dz - point.z);
    nearest = Math.min(nearest, away[k]);
  }
  let best = -1;
  for (let k = 0; k < course.count; ++k)
    if (away[k] <= nearest + same && (best < 0 || Math.abs(sums[k] - length) < Math.abs(sums[best] - length))) best = k;
  return best < 0 ? null : {k: best, away: nearest};
}

/// Wide lines, for which plain ones have no width.
function wideLinesOf(course, wanted, width) {
  const {members, positions} = pickedFrom(course, wanted);
  const geometry = new LineSegmentsGeometry();
  geometry.setPositions(positions);
  const material = new LineMaterial({linewidth: width, depthWrite: false, depthTest: false});
  const lines = new LineSegments2(geometry, material);
  lines.frustumCulled = false;
  lines.renderOrder = -1;
  return {lines, material, members, cut: count => { geometry.instanceCount = count; }};
}

export function showWays({ways}) {
  const place = document.getElementById('ways-space');
  if (!place) return;
  const sides = ['a', 'b'].map(name => {
    const course = decode(ways[name]);
    return {name: name.toUpperCase(), path: ways[name], course, sums: cutLengths(course), shift: ways[name].shift ?? [0, 0, 0]};
  });
  const [a, b] = sides;
  if (!a.course.count || !b.course.count) return;
  const {center, radius, half} = extentOf(a.course, b.course);
  const places = placesOf(sides), longest = places[places.length - 1];
  const same = ways.tolerance_mm + a.path.tolerance_mm + b.path.tolerance_mm + 1e-3;
  let layers = [], stood = [];
  for (const side of sides) {
    side.code = element('code');
    side.about = element('small');
  }
  /// Shows stretch k of a side, or that it cuts nothing there; `away` mm beside what is asked for.
  const say = (side, k, away = 0) => {
    const block = side.course.block[k], feed = side.path.feed[k];
    side.code.textContent = `${side.name}: ${side.path.text[block]}`;
    side.about.textContent = [`line ${side.path.lines[block]} of ${side.name}`, kinds[side.course.flags[k] & 3].name,
      ...(feed > 0 ? [`${feed} mm/min`] : []), 'to ' + endOf(side.course, k, side.shift),
      ...(away > same ? [`${away.toPrecision(2)} mm away: the nearest of its cuts`] : [])].join(', ');
  };
  const sayNothing = side => {
    side.code.textContent = `${side.name}:`;
    side.about.textContent = 'rapids are not compared';
  };
  const stage = openStage(place, {
    center, radius, half, name: 'Both ways in space', along: 'along the cuts', steps: places.length,
    picks: () => layers.filter(layer => layer.pick && layer.lines.visible).map(layer => ({...layer, lines: layer.pick.lines})),
    onPick: (layer, hit) => {
      const k = layer.pick.members[hit.index >> 1], other = layer.side === a ? b : a;
      say(layer.side, k);
      if (!isCut(layer.side.course.flags[k])) return sayNothing(other);
      const e = 6 * k, ends = layer.side.course.ends;
      const begin = new Vector3(ends[e], ends[e + 1], ends[e + 2]);
      const found = beside(other, hit.point, (k ? layer.side.sums[k - 1] : 0) + hit.point.distanceTo(begin), same);
      if (found) say(other, found.k, found.away);
      else sayNothing(other);
    },
    onLeave: () => sides.forEach((side, place) => say(side, stood[place])),
    onStand: at => {
      const length = places[at];
      stood = sides.map(side => at + 1 === places.length ? side.course.count - 1 : stretchAt(side.sums, length - 1e-4));
      for (const layer of layers) layer.cut(upTo(layer.members, stood[sides.indexOf(layer.side)]));
      sides.forEach((side, place) => {
        side.tip.position.copy(pointAt(side, stood[place], at + 1 === places.length ? Infinity : length));
        say(side, stood[place]);
      });
      stage.slider.setAttribute('aria-valuetext', `${length.toFixed(1)} of ${longest.toFixed(1)} mm of the cuts`);
    },
    onDraw: (pixel, zoom, size) => {
      for (const side of sides) side.tip.scale.setScalar(radius / (side === a ? 38 : 55) / zoom);
      for (const one of pins) one.sprite.scale.setScalar(22 * pixel);
      for (const layer of layers) layer.material.resolution?.copy(size);
    },
  });
  if (!stage) return;
  const {scene, toggle} = stage;
  for (const side of sides) stage.words.append(element('p', {}, side.code, side.about));
  const unit = radius / 30; // length of a dash
  const plain = (side, wanted, material) => {
    const made = linesOf(side.course, wanted, material);
    return {...made, material, pick: made, cut: count => made.lines.geometry.setDrawRange(0, 2 * count)};
  };
  const rapids = flags => !isCut(flags);
  const wide = wideLinesOf(a.course, isCut, 5);
  // Wide lines are pointed at by their middle.
  wide.pick = linesOf(a.course, isCut, new LineBasicMaterial());
  const cutWide = wide.cut;
  wide.cut = count => {
    cutWide(count);
    wide.pick.lines.geometry.setDrawRange(0, 2 * count);
  };
  layers = [
    {side: a, words: 'cuts of A (wide, behind)', colour: '--before', style: 'wide', ...wide},
    {side: b, words: 'cuts of B (thin, in front)', colour: '--after', style: 'thin', ...plain(b, isCut, new LineBasicMaterial({depthTest: false}))},
    {side: a, words: 'rapids of A (dashed)', colour: '--rapid', style: 'dashed', ...plain(a, rapids, new LineDashedMaterial({dashSize: unit, gapSize: 0.6 * unit}))},
    {side: b, words: 'rapids of B (dotted)', colour: '--retract', style: 'dotted', ...plain(b, rapids, new LineDashedMaterial({dashSize: 0.15 * unit, gapSize: 0.35 * unit}))},
  ];
  for (const layer of layers) {
    scene.add(layer.lines);
    if (layer.members.length) toggle(layer.words, true, on => { layer.lines.visible = on; }, layer);
  }
  const pins = ways.marks.map(mark => ({...mark, ...pin(mark.label, new Vector3(...mark.at))}));
  for (const one of pins) scene.add(one.sprite);
  for (const side of sides) {
    side.colour = side === a ? '--before' : '--after';
    side.tip = new Mesh(new SphereGeometry(1, 16, 12), new MeshBasicMaterial({depthTest: false}));
    side.tip.renderOrder = side === a ? 1 : 2;
    scene.add(side.tip);
  }
  stage.begin({
    note: sides.map(side => `${side.name}: ${drawnNote(side.path, side.course)}`).join(' '),
    paint: () => {
      for (const layer of layers) layer.material.color = colour(layer.colour);
      for (const one of pins) one.paint(value(one.bad ? '--bad' : '--ink'), value('--card'), value('--ink'));
      for (const side of sides) side.tip.material.color = colour(side.colour);
    },
  });
}
