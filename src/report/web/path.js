// The path in space: turn, zoom, run along the program; the block under the pointer is shown.
import {BufferAttribute, BufferGeometry, LineBasicMaterial, LineDashedMaterial, LineSegments, Mesh, MeshBasicMaterial, Points,
  PointsMaterial, SphereGeometry, Vector3} from 'three';
import {decode, drawnNote, endOf, kinds, linesOf, passOf, upTo} from './course.js';
import {colour, element, extentOf, openStage, pin, value} from './stage.js';

function blockText(data, course, k) {
  const path = data.path, block = course.block[k];
  const parts = [`line ${path.lines[block]}`];
  if (path.source[block] && path.source[block] !== path.lines[block]) parts.push(`from line ${path.source[block]} of the program`);
  const pass = data.passes.find(one => path.source[block] >= one.lines[0] && path.source[block] <= one.lines[1]);
  if (pass) parts.push(`pass ${pass.index}`);
  parts.push(kinds[course.flags[k] & 3].name);
  if (path.feed[k] > 0) parts.push(`${path.feed[k]} mm/min`);
  if (course.flags[k] & 4) parts.push('changed or added');
  parts.push('to ' + endOf(course, k));
  return {code: path.text[block], about: parts.join(', ')};
}

export function showPath(data) {
  const place = document.getElementById('path-space');
  if (!place || !data.path.flags.length) return;
  const course = decode(data.path), {center, radius, half} = extentOf(course);
  const code = element('code'), about = element('small');
  let layers = [];
  const say = k => {
    const text = blockText(data, course, k);
    code.textContent = text.code;
    about.textContent = text.about;
  };
  const stage = openStage(place, {
    center, radius, half, name: 'The path in space', along: 'along the program', steps: course.count,
    picks: () => layers.filter(layer => layer.lines.visible),
    onPick: (layer, hit) => say(layer.members[hit.index >> 1]),
    onLeave: () => say(Number(stage.slider.value)),
    onStand: k => {
      for (const layer of layers) layer.lines.geometry.setDrawRange(0, 2 * upTo(layer.members, k));
      edits.lines.geometry.setDrawRange(0, 2 * upTo(edits.members, k));
      tip.position.set(course.ends[6 * k + 3], course.ends[6 * k + 4], course.ends[6 * k + 5]);
      stage.slider.setAttribute('aria-valuetext', `stretch ${k + 1} of ${course.count}`);
      say(k);
    },
    onDraw: (pixel, zoom) => {
      tip.scale.setScalar(radius / 45 / zoom);
      for (const layer of layers) layer.pin?.sprite.scale.setScalar(22 * pixel);
    },
  });
  if (!stage) return;
  const {scene, toggle} = stage;
  stage.words.append(code, about);
  const unit = radius / 30; // length of a dash

  const all = new BufferGeometry();
  all.setAttribute('position', new BufferAttribute(course.ends, 3));
  const ahead = new LineSegments(all, new LineBasicMaterial({transparent: true, opacity: 0.15}));
  scene.add(ahead);
  const passes = data.passes.filter(one => one.colour !== null), of = passOf(course, data.path, passes);
  const styles = [
    ...kinds.map((kind, code) => ({...kind, draws: (flags, k) => (flags & 3) === code && of[k] < 0})),
    ...passes.map((one, place) => ({name: 'cut', words: `pass ${one.index}`, colour: `--p${one.colour}`, pass: one,
      draws: (_, k) => of[k] === place})),
  ];
  const pins = [];
  layers = styles.map(kind => {
    const material = kind.dash
      ? new LineDashedMaterial({dashSize: kind.dash[0] * unit, gapSize: kind.dash[1] * unit})
      : new LineBasicMaterial();
    const layer = {...kind, material, ...linesOf(course, kind.draws, material)};
    scene.add(layer.lines);
    if (kind.pass && layer.members.length) {
      const at = 6 * layer.members[0];
      layer.pin = pin(String(kind.pass.index), new Vector3(course.ends[at], course.ends[at + 1], course.ends[at + 2]));
      // Passes that begin near each other stand side by side.
      const beside = pins.filter(other => other.position.distanceTo(layer.pin.sprite.position) < radius / 8).length;
      layer.pin.sprite.center.set(0.5 - beside, 0.5);
      pins.push(layer.pin.sprite);
      scene.add(layer.pin.sprite);
    }
    return layer;
  });
  const edits = linesOf(course, flags => (flags & 4) !== 0, new LineBasicMaterial());
  const marks = new Points(edits.lines.geometry, new PointsMaterial({size: 4, sizeAttenuation: false}));
  marks.visible = false;
  scene.add(marks);
  const tip = new Mesh(new SphereGeometry(1, 16, 12), new MeshBasicMaterial());
  scene.add(tip);

  for (const layer of layers.filter(one => one.members.length))
    toggle(layer.words, true, on => {
      layer.lines.visible = on;
      if (layer.pin) layer.pin.sprite.visible = on;
    }, layer);
  toggle('still to come (pale)', true, on => { ahead.visible = on; });
  if (edits.members.length) toggle('changed or added (dots)', false, on => { marks.visible = on; });
  stage.begin({
    note: drawnNote(data.path, course),
    paint: () => {
      ahead.material.color = colour('--soft');
      for (const layer of layers) {
        layer.material.color = colour(layer.colour);
        layer.pin?.paint(value(layer.colour), value('--card'), value('--ink'));
      }
      marks.material.color = colour('--before');
      tip.material.color = colour('--before');
    },
  });
}
