// The course of a program as the report's data hold it, taken apart for drawing and asking.
import {BufferAttribute, BufferGeometry, LineSegments} from 'three';

/// What a stretch does, by its code in the flags.
export const kinds = [
  {name: 'cut', words: 'other cuts', colour: '--soft'},
  {name: 'rapid', words: 'rapids (dashed)', colour: '--rapid', style: 'dashed', dash: [1, 0.6]},
  {name: 'retract', words: 'retracts (dotted)', colour: '--retract', style: 'dotted', dash: [0.15, 0.35]},
];

/// Stretches as arrays: end points, block, flags.
export function decode(path) {
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
export function passOf(course, path, passes) {
  const of = new Int32Array(course.count).fill(-1);
  for (let k = 0; k < course.count; ++k) {
    if (course.flags[k] & 3) continue;
    const line = path.source[course.block[k]];
    of[k] = passes.findIndex(one => line >= one.lines[0] && line <= one.lines[1]);
  }
  return of;
}

/// The stretches of `course` that `wanted` picks.
export function pickedFrom(course, wanted) {
  const members = [];
  for (let k = 0; k < course.count; ++k) if (wanted(course.flags[k], k)) members.push(k);
  const positions = new Float32Array(members.length * 6);
  members.forEach((k, place) => positions.set(course.ends.subarray(6 * k, 6 * k + 6), 6 * place));
  return {members, positions};
}

/// Those stretches of `course` that `wanted` picks, as one object; members tells which they are.
export function linesOf(course, wanted, material) {
  const {members, positions} = pickedFrom(course, wanted);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(positions, 3));
  const lines = new LineSegments(geometry, material);
  if (material.isLineDashedMaterial) lines.computeLineDistances();
  lines.frustumCulled = false;
  return {lines, members};
}

/// How many of the sorted numbers are at most `limit`.
export function upTo(members, limit) {
  let low = 0, high = members.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (members[middle] <= limit) low = middle + 1;
    else high = middle;
  }
  return low;
}

/// 'X1 Y2.5 Z-3', where stretch k ends; mm.
export const endOf = (course, k, shift = [0, 0, 0]) =>
  [0, 1, 2].map(axis => 'XYZ'[axis] + (+(course.ends[6 * k + 3 + axis] - shift[axis]).toFixed(4))).join(' ');

/// How many motions were drawn, and how true.
export const drawnNote = (path, course) => path.tolerance_mm > 0
  ? `${path.motions - path.undrawn} motions drawn in ${course.count} lines that stay within ${+path.tolerance_mm.toFixed(3)} mm of the path; the block shown is the first of its line.`
  : path.undrawn ? `${path.motions - path.undrawn} of ${path.motions} motions are drawn.` : `${path.motions} motions, all drawn.`;
