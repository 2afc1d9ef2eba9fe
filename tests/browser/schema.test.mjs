// The JSON of every fixture and the schema that is shipped say the same.
import assert from 'node:assert/strict';
import {spawnSync} from 'node:child_process';
import {mkdtempSync, readFileSync, readdirSync, rmSync} from 'node:fs';
import {tmpdir} from 'node:os';
import {join, resolve} from 'node:path';
import {after, test} from 'node:test';
import Ajv from 'ajv/dist/2020.js';

const source = resolve(process.env.RESTEP_SOURCE ?? '../..');
const folder = mkdtempSync(join(tmpdir(), 'restep-schema-'));
after(() => rmSync(folder, {recursive: true}));
const checker = name => new Ajv({strict: true, strictRequired: false, allErrors: true, allowUnionTypes: true})
  .compile(JSON.parse(readFileSync(join(source, `src/report/schema/restep-${name}.schema.json`), 'utf8')));
const valid = checker('report');

const run = (...args) => spawnSync(process.env.RESTEP, args, {
  env: {...process.env, RESTEP_PROFILES: join(source, 'profiles')}, stdio: 'ignore'});
const programs = readdirSync(join(source, 'fixtures'), {withFileTypes: true}).filter(entry => entry.isDirectory() &&
  entry.name !== 'generate').map(entry => entry.name).filter(name => readdirSync(join(source, 'fixtures', name)).includes('program.nc'));

test('the JSON of rewrite and inspect is what the schema says, for every fixture', () => {
  assert.ok(programs.length > 20);
  for (const name of programs) {
    const program = join(source, 'fixtures', name, 'program.nc');
    for (const [what, args] of [
      ['rewrite', ['rewrite', program, '--machine', 'column-mill', '--tools', 'workshop', '--finish', 'cusp:2um', '-o', join(folder, 'out.nc')]],
      ['inspect', ['inspect', program]]]) {
      const file = join(folder, 'report.json');
      run(...args, '--json', file);
      const json = JSON.parse(readFileSync(file, 'utf8'));
      assert.ok(valid(json), `${what} ${name}: ${JSON.stringify(valid.errors?.slice(0, 3))}`);
    }
  }
});

test('the JSON of one program for two machines is what the schemas say, comparison included', () => {
  const file = join(folder, 'report.json');
  run('rewrite', join(source, 'fixtures/bell-yoke/program.nc'), '--machine', 'column-mill', '--machine', 'bench-mill',
    '-o', join(folder, 'two.nc'), '--json', file);
  const json = JSON.parse(readFileSync(file, 'utf8'));
  assert.ok(valid(json), JSON.stringify(valid.errors?.slice(0, 3)));
  const compared = checker('compare');
  assert.ok(compared(json[1].comparison), JSON.stringify(compared.errors?.slice(0, 3)));
});

test('a field that the schema does not know is refused', () => {
  const file = join(folder, 'report.json');
  run('inspect', join(source, 'fixtures/wall/program.nc'), '--json', file);
  const json = JSON.parse(readFileSync(file, 'utf8'));
  assert.ok(valid(json));
  assert.equal(valid({...json, surprise: 1}), false);
  const {time_s, ...without} = json;
  assert.equal(valid(without), false);
});

/// What the arguments print as JSON.
const printed = (...args) => JSON.parse(spawnSync(process.env.RESTEP, [...args, '--json', '-'], {
  env: {...process.env, RESTEP_PROFILES: join(source, 'profiles')}, encoding: 'utf8'}).stdout);

test('the JSON of compare, steps and profiles is what their schemas say', () => {
  const part = name => join(source, 'fixtures', name, 'program.nc');
  const outputs = {
    compare: [['compare', part('wall'), part('wall')], ['compare', part('wall'), part('bell-yoke')],
      ['compare', part('wall'), part('wall'), '--shift', 'X5', '--from-b', 'small-firmware']],
    steps: [['steps', '--tool', 'bull 3 r0.3', '--surface', 'round 1.5', '--finish', 'cusp:2um'],
      ['steps', '--tool', 'ball 2', '--surface', 'fillet 3', '--finish', 'ra:0.4um', '--min-stepdown', '0.2mm']],
    profiles: [['profiles', 'list'], ['profiles', 'show', 'bench-mill'], ['profiles', 'show', 'rs274ngc'],
      ['profiles', 'show', 'workshop'], ['profiles', 'check', join(source, 'profiles/machines/bench-mill.toml')],
      ['profiles', 'check', join(source, 'fixtures/bell-yoke/job.toml')]],
  };
  for (const [name, runs] of Object.entries(outputs)) {
    const fits = checker(name);
    for (const args of runs) {
      const json = printed(...args);
      assert.ok(fits(json), `${args.join(' ')}: ${JSON.stringify(fits.errors?.slice(0, 3))}`);
      assert.equal(fits({...json, surprise: 1}), false);
    }
  }
});
