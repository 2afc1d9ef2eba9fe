// The path in space: turn, zoom, run along the program; the block under the pointer is shown.
import {BufferAttribute, BufferGeometry, CanvasTexture, Color, LineBasicMaterial, LineDashedMaterial, LineSegments, Mesh,
  MeshBasicMaterial, OrthographicCamera, Points, PointsMaterial, Raycaster, Scene, SphereGeometry, Sprite, SpriteMaterial, SRGBColorSpace,
  Vector2, Vector3, WebGLRenderer} from 'three';
import {OrbitControls} from 'three/examples/jsm/controls/OrbitControls.js';

const kinds = [
  {name: 'cut', words: 'other cuts', colour: '--soft'},
  {name: 'rapid', words: 'rapids (dashed)', colour: '--rapid', dash: [1, 0.6]},
  {name: 'retract', words: 'retracts (dotted)', colour: '--retract', dash: [0.15, 0.35]},
];

const value = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const colour = name => new Color(value(name));

function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

/// Stretches as arrays: end points, block, flags.
function decode(path) {
  const count = path.flags.length;
  const ends = new Float32Array(count * 6), block = new Uint32Array(count);
  const at = [0, 0, 0];
  let point = 0, current = 0;
  const move = () => { for (let axis = 0; axis < 3; ++axis) at[axis] += path.points[point++]; };
  for (let k = 0; k < count; ++k) {
    if (path.flags[k] & 8) move();
    for (let axis = 0; axis < 3; ++axis) ends[6 * k + axis] = at[axis] / path.units_per_mm;
    move();
    for (let axis = 0; axis < 3; ++axis) ends[6 * k + 3 + axis] = at[axis] / path.units_per_mm;
    current += path.block[k];
    block[k] = current;
  }
  return {count, ends, block, flags: path.flags};
}

/// Per stretch the place of its finishing pass in `passes`, or -1: a rapid or a cut that belongs to none.
function passOf(course, path, passes) {
  const of = new Int32Array(course.count).fill(-1);
  for (let k = 0; k < course.count; ++k) {
    if (course.flags[k] & 3) continue;
    const line = path.source[course.block[k]];
    of[k] = passes.findIndex(one => line >= one.lines[0] && line <= one.lines[1]);
  }
  return of;
}

/// A pass's number in a ring of its colour, where the pass begins; always of one size and in front.
function pin(text, position) {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 64;
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  const sprite = new Sprite(new SpriteMaterial({map: texture, depthTest: false}));
  sprite.position.copy(position);
  const paint = (ring, ground, ink) => {
    const pen = canvas.getContext('2d');
    pen.clearRect(0, 0, 64, 64);
    pen.beginPath();
    pen.arc(32, 32, 27, 0, 2 * Math.PI);
    pen.fillStyle = ground;
    pen.fill();
    pen.lineWidth = 7;
    pen.strokeStyle = ring;
    pen.stroke();
    pen.fillStyle = ink;
    pen.font = 'bold 30px system-ui, sans-serif';
    pen.textAlign = 'center';
    pen.textBaseline = 'middle';
    pen.fillText(text, 32, 34);
    texture.needsUpdate = true;
  };
  return {sprite, paint};
}

/// Those stretches of `course` that `wanted` picks, as one object; members tells which they are.
function linesOf(course, wanted, material) {
  const members = [];
  for (let k = 0; k < course.count; ++k) if (wanted(course.flags[k], k)) members.push(k);
  const positions = new Float32Array(members.length * 6);
  members.forEach((k, place) => positions.set(course.ends.subarray(6 * k, 6 * k + 6), 6 * place));
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  const lines = new LineSegments(geometry, material);
  if (material.isLineDashedMaterial) lines.computeLineDistances();
  lines.frustumCulled = false;
  return {lines, members};
}

/// How many of the sorted numbers are at most `limit`.
function upTo(members, limit) {
  let low = 0, high = members.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (members[middle] <= limit) low = middle + 1;
    else high = middle;
  }
  return low;
}

function blockText(data, course, k) {
  const path = data.path, block = course.block[k];
  const parts = [`line ${path.lines[block]}`];
  if (path.source[block] && path.source[block] !== path.lines[block]) parts.push(`from line ${path.source[block]} of the program`);
  const pass = data.passes.find(one => path.source[block] >= one.lines[0] && path.source[block] <= one.lines[1]);
  if (pass) parts.push(`pass ${pass.index}`);
  parts.push(kinds[course.flags[k] & 3].name);
  if (path.feed[k] > 0) parts.push(`${path.feed[k]} mm/min`);
  if (course.flags[k] & 4) parts.push('changed or added');
  const end = [0, 1, 2].map(axis => 'XYZ'[axis] + (+course.ends[6 * k + 3 + axis].toFixed(4)));
  parts.push('to ' + end.join(' '));
  return {code: path.text[block], about: parts.join(', ')};
}

export function showPath(data) {
  const place = document.getElementById('path-space');
  if (!place || !data.path.flags.length) return;
  let renderer;
  try {
    renderer = new WebGLRenderer({antialias: true, alpha: true});
  } catch {
    place.hidden = false;
    place.append(element('p', {className: 'remark', textContent: 'This browser draws nothing in space (no WebGL): the views below are still.'}));
    return;
  }
  const course = decode(data.path);
  const scene = new Scene(), camera = new OrthographicCamera();
  camera.up.set(0, 0, 1);

  const all = new BufferGeometry();
  all.setAttribute('position', new BufferAttribute(course.ends, 3));
  all.computeBoundingSphere();
  all.computeBoundingBox();
  const {center, radius} = all.boundingSphere;
  const unit = Math.max(radius, 1e-3) / 30; // length of a dash

  const ahead = new LineSegments(all, new LineBasicMaterial({transparent: true, opacity: 0.15}));
  scene.add(ahead);
  const passes = data.passes.filter(one => one.colour !== null), of = passOf(course, data.path, passes);
  const styles = [
    ...kinds.map((kind, code) => ({...kind, draws: (flags, k) => (flags & 3) === code && of[k] < 0})),
    ...passes.map((one, place) => ({name: 'cut', words: `pass ${one.index}`, colour: `--p${one.colour}`, pass: one,
      draws: (_, k) => of[k] === place})),
  ];
  const pins = [];
  const layers = styles.map(kind => {
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

  const paint = () => {
    ahead.material.color = colour('--soft');
    for (const layer of layers) {
      layer.material.color = colour(layer.colour);
      layer.pin?.paint(value(layer.colour), value('--card'), value('--ink'));
    }
    marks.material.color = colour('--before');
    tip.material.color = colour('--before');
    draw();
  };

  const stage = element('div', {className: 'stage', tabIndex: 0});
  stage.setAttribute('role', 'application');
  stage.setAttribute('aria-label', 'The path in space. Drag turns, the wheel zooms; arrow keys turn, plus and minus zoom, page up and page down step along the program.');
  stage.append(renderer.domElement);
  const slider = element('input', {type: 'range', min: 0, max: course.count - 1, value: course.count - 1, id: 'scrub'});
  const code = element('code'), about = element('small');
  const words = element('p', {className: 'block', id: 'block-text'}, code, about);
  words.setAttribute('aria-live', 'polite');

  let wanted = false;
  const draw = () => {
    if (wanted) return;
    wanted = true;
    requestAnimationFrame(() => {
      wanted = false;
      tip.scale.setScalar(radius / 45 / camera.zoom);
      const pinSize = 22 * (camera.top - camera.bottom) / camera.zoom / Math.max(1, stage.clientHeight); // 22 pixels
      for (const layer of layers) layer.pin?.sprite.scale.setScalar(pinSize);
      renderer.render(scene, camera);
    });
  };
  const say = k => {
    const text = blockText(data, course, k);
    code.textContent = text.code;
    about.textContent = text.about;
  };
  const stand = k => {
    for (const layer of layers) layer.lines.geometry.setDrawRange(0, 2 * upTo(layer.members, k));
    edits.lines.geometry.setDrawRange(0, 2 * upTo(edits.members, k));
    tip.position.set(course.ends[6 * k + 3], course.ends[6 * k + 4], course.ends[6 * k + 5]);
    slider.setAttribute('aria-valuetext', `stretch ${k + 1} of ${course.count}`);
    say(k);
    draw();
  };
  slider.addEventListener('input', () => stand(Number(slider.value)));

  const controls = new OrbitControls(camera, renderer.domElement);
  controls.enableDamping = false;
  controls.addEventListener('change', draw);
  const resize = () => {
    const width = stage.clientWidth, height = stage.clientHeight;
    if (!width || !height) return;
    renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    renderer.setSize(width, height, false);
    const half = radius * 1.08, ratio = width / height;
    camera.top = half * Math.max(1, 1 / ratio);
    camera.bottom = -camera.top;
    camera.right = camera.top * ratio;
    camera.left = -camera.right;
    camera.near = -20 * radius;
    camera.far = 40 * radius;
    camera.updateProjectionMatrix();
    draw();
  };
  const look = (x, y, z) => {
    camera.position.copy(center).add(new Vector3(x, y, z).normalize().multiplyScalar(4 * radius));
    camera.zoom = 1;
    camera.updateProjectionMatrix();
    controls.target.copy(center);
    controls.update();
    draw();
  };
  const turn = (around, up) => {
    const offset = camera.position.clone().sub(controls.target);
    offset.applyAxisAngle(camera.up, around);
    const side = new Vector3().crossVectors(camera.up, offset).normalize();
    const tilted = offset.clone().applyAxisAngle(side, -up);
    if (Math.abs(tilted.clone().normalize().z) < 0.999) offset.copy(tilted);
    camera.position.copy(controls.target).add(offset);
    controls.update();
    draw();
  };
  const zoom = factor => {
    camera.zoom *= factor;
    camera.updateProjectionMatrix();
    draw();
  };
  const step = by => {
    slider.value = Math.max(0, Math.min(course.count - 1, Number(slider.value) + by));
    stand(Number(slider.value));
  };
  stage.addEventListener('keydown', event => {
    const action = {ArrowLeft: () => turn(-0.1, 0), ArrowRight: () => turn(0.1, 0), ArrowUp: () => turn(0, 0.1),
      ArrowDown: () => turn(0, -0.1), '+': () => zoom(1.2), '=': () => zoom(1.2), '-': () => zoom(1 / 1.2),
      PageUp: () => step(-1), PageDown: () => step(1)}[event.key];
    if (!action) return;
    event.preventDefault();
    action();
  });

  // The stretch under the pointer, asked for at most once a frame and never while turning.
  const ray = new Raycaster(), pointer = new Vector2();
  let asked = false;
  const pick = () => {
    asked = false;
    ray.setFromCamera(pointer, camera);
    ray.params.Line.threshold = radius / 90 / camera.zoom;
    let best = null;
    for (const layer of layers) {
      if (!layer.lines.visible) continue;
      for (const hit of ray.intersectObject(layer.lines, false)) {
        const away = hit.point.distanceTo(ray.ray.closestPointToPoint(hit.point, new Vector3()));
        if (!best || away < best.away) best = {away, k: layer.members[hit.index >> 1]};
      }
    }
    if (best) say(best.k);
  };
  stage.addEventListener('pointermove', event => {
    if (event.buttons || asked) return;
    const box = stage.getBoundingClientRect();
    pointer.set((event.clientX - box.left) / box.width * 2 - 1, 1 - (event.clientY - box.top) / box.height * 2);
    asked = true;
    requestAnimationFrame(pick);
  });
  stage.addEventListener('pointerleave', () => say(Number(slider.value)));

  const button = (text, action) => element('button', {type: 'button', textContent: text, onclick: action});
  const toggle = (text, checked, action, swatch) => {
    const box = element('input', {type: 'checkbox', checked, onchange: () => { action(box.checked); draw(); }});
    const key = swatch ? [element('span', {className: 'swatch', style: `background:var(${swatch})`})] : [];
    return element('label', {}, box, ' ', ...key, text);
  };
  const note = data.path.tolerance_mm > 0
    ? `${data.path.motions} motions, drawn in ${course.count} lines that stay within ${+data.path.tolerance_mm.toFixed(3)} mm of the path; the block shown is the first of its line.`
    : `${data.path.motions} motions, all drawn.`;
  place.classList.add('interactive');
  place.append(
    element('div', {className: 'bar-row'}, button('from above', () => look(0, -0.001, 1)), button('from the front', () => look(0, -1, 0.001)),
      button('from the right', () => look(1, 0, 0.001)), button('oblique', () => look(-0.6, -1, 0.7)),
      button('+', () => zoom(1.3)), button('\u2212', () => zoom(1 / 1.3))),
    stage,
    element('div', {className: 'bar-row'}, element('label', {htmlFor: 'scrub', textContent: 'along the program'}), slider,
      button('back', () => step(-1)), button('on', () => step(1))),
    words,
    element('div', {className: 'bar-row'},
      ...layers.filter(layer => layer.members.length).map(layer => toggle(layer.words, true, on => {
        layer.lines.visible = on;
        if (layer.pin) layer.pin.sprite.visible = on;
      }, layer.colour)),
      toggle('still to come (pale)', true, on => { ahead.visible = on; }),
      toggle('changed or added (dots)', false, on => { marks.visible = on; })),
    element('p', {className: 'remark', textContent: note}));
  place.hidden = false;

  // The still views step aside, but stay at hand and are printed.
  const still = element('details', {className: 'still-views'}, element('summary', {textContent: 'Still views: plan and side'}));
  const figures = [...document.querySelectorAll('#path > figure')];
  figures[0].before(still);
  still.append(document.querySelector('#path > .legend'), ...figures);
  let opened = false;
  addEventListener('beforeprint', () => { opened = still.open; still.open = true; });
  addEventListener('afterprint', () => { still.open = opened; });

  new ResizeObserver(resize).observe(stage);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', paint);
  resize();
  look(-0.6, -1, 0.7);
  stand(course.count - 1);
  paint();
}
