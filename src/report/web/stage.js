// A view in space of lines: turn, zoom, point at a line, run along. What the lines mean is the caller's affair.
import {Box3, CanvasTexture, Color, OrthographicCamera, Raycaster, Scene, Sphere, Sprite, SpriteMaterial, SRGBColorSpace, Vector2, Vector3,
  WebGLRenderer} from 'three';
import {OrbitControls} from 'three/examples/jsm/controls/OrbitControls.js';

/// The style sheet's value of a name, as text and as a colour.
export const value = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
export const colour = name => new Color(value(name));

export function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

/// A label in a ring of a colour; always of one size and in front.
export function pin(text, position) {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 64;
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  const sprite = new Sprite(new SpriteMaterial({map: texture, depthTest: false}));
  sprite.position.copy(position);
  sprite.renderOrder = 9;
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

/// A sphere about all end points: its middle and its radius; and half the size of the box about them, mm.
export function extentOf(...courses) {
  const box = new Box3(), at = new Vector3();
  for (const {ends} of courses)
    for (let k = 0; k < ends.length; k += 3) box.expandByPoint(at.set(ends[k], ends[k + 1], ends[k + 2]));
  const {center, radius} = box.getBoundingSphere(new Sphere());
  return {center, radius: Math.max(radius, 1e-3), half: box.getSize(new Vector3()).divideScalar(2)};
}

const button = (text, action) => element('button', {type: 'button', textContent: text, onclick: action});

/// The still views step aside, but stay at hand and are printed.
function putStillViewsAside(section) {
  const still = element('details', {className: 'still-views'}, element('summary', {textContent: 'Still views: plan and side'}));
  const figures = [...section.querySelectorAll(':scope > figure')];
  figures[0].before(still);
  still.append(section.querySelector(':scope > .legend'), ...figures);
  let opened = false;
  addEventListener('beforeprint', () => { opened = still.open; still.open = true; });
  addEventListener('afterprint', () => { still.open = opened; });
}

/// Builds the view into `place`; null where the browser draws nothing in space.
///   center, radius, half  of what is shown, mm
///   name            of the view, for those who hear it
///   steps           places along the slider
///   picks()         [{lines, ...}] that can be pointed at
///   onPick(pick, hit), onLeave()
///   onStand(place)  the slider stands there now
///   onDraw(mmPerPixel, size)  before each picture; mm for a pixel, size of the canvas
export function openStage(place, {center, radius, half, name, along, steps, picks, onPick, onLeave, onStand, onDraw}) {
  let renderer;
  try {
    renderer = new WebGLRenderer({antialias: true, alpha: true});
  } catch {
    place.hidden = false;
    place.append(element('p', {className: 'remark', textContent: 'This browser draws nothing in space (no WebGL): the views below are still.'}));
    return null;
  }
  const scene = new Scene(), camera = new OrthographicCamera();
  camera.up.set(0, 0, 1);
  const stage = element('div', {className: 'stage', tabIndex: 0});
  stage.setAttribute('role', 'application');
  stage.setAttribute('aria-label', `${name}. Drag turns, the wheel zooms; arrow keys turn, plus and minus zoom, page up and page down step along the program.`);
  stage.append(renderer.domElement);
  const slider = element('input', {type: 'range', min: 0, max: steps - 1, value: steps - 1, id: 'scrub'});
  const words = element('div', {className: 'block', id: 'block-text'});
  words.setAttribute('aria-live', 'polite');
  const toggles = element('div', {className: 'bar-row'});

  let wanted = false;
  const draw = () => {
    if (wanted) return;
    wanted = true;
    requestAnimationFrame(() => {
      wanted = false;
      const height = Math.max(1, stage.clientHeight);
      onDraw((camera.top - camera.bottom) / camera.zoom / height, camera.zoom, new Vector2(stage.clientWidth, height));
      renderer.render(scene, camera);
    });
  };
  const stand = () => {
    onStand(Number(slider.value));
    draw();
  };
  slider.addEventListener('input', stand);

  const controls = new OrbitControls(camera, renderer.domElement);
  controls.enableDamping = false;
  controls.addEventListener('change', draw);
  const resize = () => {
    const width = stage.clientWidth, height = stage.clientHeight;
    if (!width || !height) return;
    renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    renderer.setSize(width, height, false);
    const reach = radius * 1.08, ratio = width / height;
    camera.top = reach * Math.max(1, 1 / ratio);
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
    controls.target.copy(center);
    controls.update();
    // As large as the box about everything lets it be.
    camera.updateMatrixWorld();
    const across = new Vector3(), up = new Vector3();
    camera.matrixWorld.extractBasis(across, up, new Vector3());
    const reach = to => Math.abs(to.x) * half.x + Math.abs(to.y) * half.y + Math.abs(to.z) * half.z + radius / 1000;
    camera.zoom = 0.9 * Math.min(camera.right / reach(across), camera.top / reach(up));
    camera.updateProjectionMatrix();
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
    slider.value = Math.max(0, Math.min(steps - 1, Number(slider.value) + by));
    stand();
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
    for (const one of picks()) {
      for (const hit of ray.intersectObject(one.lines, false)) {
        const away = hit.point.distanceTo(ray.ray.closestPointToPoint(hit.point, new Vector3()));
        if (!best || away < best.away) best = {away, one, hit};
      }
    }
    if (best) onPick(best.one, best.hit);
  };
  stage.addEventListener('pointermove', event => {
    if (event.buttons || asked) return;
    const box = stage.getBoundingClientRect();
    pointer.set((event.clientX - box.left) / box.width * 2 - 1, 1 - (event.clientY - box.top) / box.height * 2);
    asked = true;
    requestAnimationFrame(pick);
  });
  stage.addEventListener('pointerleave', onLeave);

  const toggle = (text, checked, action, swatch) => {
    const box = element('input', {type: 'checkbox', checked, onchange: () => { action(box.checked); draw(); }});
    const key = swatch ? [element('span', {className: 'swatch ' + (swatch.style ?? ''), style: `--key:var(${swatch.colour})`})] : [];
    toggles.append(element('label', {}, box, ' ', ...key, text));
  };
  const begin = ({note, paint}) => {
    place.classList.add('interactive');
    place.append(
      element('div', {className: 'bar-row'}, button('from above', () => look(0, -0.001, 1)), button('from the front', () => look(0, -1, 0.001)),
        button('from the right', () => look(1, 0, 0.001)), button('oblique', () => look(-0.6, -1, 0.7)),
        button('+', () => zoom(1.3)), button('\u2212', () => zoom(1 / 1.3))),
      stage,
      element('div', {className: 'bar-row'}, element('label', {htmlFor: 'scrub', textContent: along}), slider,
        button('back', () => step(-1)), button('on', () => step(1))),
      words, toggles,
      element('p', {className: 'remark', textContent: note}));
    place.hidden = false;
    putStillViewsAside(place.parentElement);
    new ResizeObserver(resize).observe(stage);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => { paint(); draw(); });
    resize();
    look(-0.6, -1, 0.7);
    stand();
    paint();
  };
  return {scene, slider, words, toggle, begin};
}
