// The HTML report in a real browser, opened from disk.
//   RESTEP=path/to/restep RESTEP_FIXTURES=path/to/restep_fixtures node --test report.test.mjs
// RESTEP_SHOTS=folder keeps screenshots for looking at.
import assert from 'node:assert/strict';
import {execFileSync, spawnSync} from 'node:child_process';
import {existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync} from 'node:fs';
import {tmpdir} from 'node:os';
import {join, resolve} from 'node:path';
import {after, before, test} from 'node:test';
import {pathToFileURL} from 'node:url';
import {chromium} from 'playwright-core';

const source = resolve(process.env.RESTEP_SOURCE ?? '../..');
const program = process.env.RESTEP;
const shots = process.env.RESTEP_SHOTS;
const folder = mkdtempSync(join(tmpdir(), 'restep-browser-'));
const env = {...process.env, RESTEP_PROFILES: join(source, 'profiles')};
const restep = (...args) => execFileSync(program, args, {env, stdio: ['ignore', 'ignore', 'ignore']});

let browser, json, scripted;
const yoke = join(folder, 'yoke.html'), look = join(folder, 'look.html');

before(async () => {
  const part = join(source, 'fixtures/bell-yoke/program.nc');
  restep('rewrite', part, '--machine', 'column-mill', '--tools', 'workshop', '--finish', 'cusp:2um',
    '-o', join(folder, 'yoke.nc'), '--json', join(folder, 'yoke.json'), '--report', yoke);
  restep('inspect', part, '--tools', 'workshop', '--report', look);
  json = JSON.parse(readFileSync(join(folder, 'yoke.json'), 'utf8'));
  scripted = readFileSync(yoke, 'utf8').includes('id="restep-data"');
  browser = await chromium.launch({
    executablePath: ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find(existsSync),
    args: ['--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'],
  });
});
after(async () => {
  await browser?.close();
  rmSync(folder, {recursive: true});
});

/// Opens a report; every message of the console, every error and every request to the network fails the test.
async function open(file, options = {}) {
  const context = await browser.newContext({viewport: {width: 1000, height: 900}, ...options});
  const page = await context.newPage();
  const complaints = [];
  page.on('console', message => ['error', 'warning'].includes(message.type()) && complaints.push(message.text()));
  page.on('pageerror', error => complaints.push(error.message));
  page.on('request', request => request.url().startsWith('http') && complaints.push(request.url()));
  await page.goto(pathToFileURL(file).href);
  await page.waitForTimeout(600);
  // A software renderer says that it is one.
  const serious = complaints.filter(text => !/GPU stall|swiftshader|WebGL-.*performance/i.test(text));
  return {page, complaints: serious, close: () => context.close()};
}

async function keep(page, name) {
  if (!shots) return;
  mkdirSync(shots, {recursive: true});
  await page.screenshot({path: join(shots, name + '.png'), fullPage: true});
}

const number = text => Number(/-?[\d.]+/.exec(text)?.[0]);

for (const [name, options] of [
  ['scripted', {}], ['without scripts', {javaScriptEnabled: false}], ['dark', {colorScheme: 'dark'}],
  ['phone', {viewport: {width: 390, height: 844}}], ['reduced motion', {reducedMotion: 'reduce'}]]) {
  test(`${name}: every section is there with the numbers of the JSON and nothing complains`, async () => {
    const {page, complaints, close} = await open(yoke, options);
    for (const id of ['setup', 'passes', 'path', 'time', 'feeds', 'findings', 'edits', 'cautions', 'method'])
      assert.equal(await page.locator(`section#${id}`).count(), 1, id);
    const verdict = await page.locator('#verdict').innerText();
    assert.match(verdict, new RegExp(`${json.proof.motions} motions read back`));
    assert.equal(number(await page.locator('[data-figure=edits_made]').innerText()), json.edits_made);
    for (const pass of json.passes) {
      const section = page.locator(`#pass-${pass.index}`);
      const changed = pass.status === 'restepped';
      assert.equal(await section.getAttribute('data-status'), pass.status);
      const table = section.locator('table.compact');
      const cells = async row => table.locator(`tr:has(th:text-is("${row}")) td`).allInnerTexts();
      assert.deepEqual((await cells('levels')).map(number), changed ? [pass.before.levels, pass.after.levels] : [pass.before.levels]);
      if (!pass.surface.length) continue; // a stack that nothing explains has no figures
      const cusps = await cells('cusp');
      assert.equal(Number(/([\d.]+) um$/.exec(cusps.at(-1))[1]), pass[changed ? 'after' : 'before'].cusp_max_um);
      for (const side of changed ? ['before', 'after'] : ['before']) {
        const rows = section.locator(`details[data-side=${side}] tbody tr`);
        assert.equal(await rows.count(), pass[side].levels);
      }
      assert.equal(await section.locator(`#meridian-${pass.index}`).isVisible(), true);
    }
    const rows = await page.locator('#findings tbody tr').count();
    assert.equal(rows, json.findings.length);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true, 'nothing sticks out sideways');
    await keep(page, 'yoke-' + name.replaceAll(' ', '-'));
    assert.deepEqual(complaints, []);
    await close();
  });
}

test('without scripts the views of the path and all charts are drawn', async () => {
  const {page, close} = await open(yoke, {javaScriptEnabled: false});
  const changed = json.passes.filter(pass => pass.status === 'restepped');
  assert.ok(changed.length > 0);
  for (const id of ['plan', 'side', 'feed', 'chip', 'times', ...changed.map(pass => `cusp-${pass.index}`)])
    assert.equal(await page.locator(`svg#${id}`).isVisible(), true, id);
  await close();
});

test('every figure has a title, every control a name', async () => {
  const {page, close} = await open(yoke);
  assert.deepEqual(await page.evaluate(() => [...document.querySelectorAll('svg:not([aria-hidden])')]
    .filter(svg => !svg.querySelector('title')?.textContent || !svg.getAttribute('aria-labelledby')).map(svg => svg.id)), []);
  assert.deepEqual(await page.evaluate(() => [...document.querySelectorAll('input')]
    .filter(input => !input.labels.length && !input.getAttribute('aria-label')).map(input => input.outerHTML)), []);
  await close();
});

test('text stands out from its ground, light and dark', async () => {
  for (const colorScheme of ['light', 'dark']) {
    const {page, close} = await open(yoke, {colorScheme});
    const ratios = await page.evaluate(() => {
      const root = getComputedStyle(document.documentElement);
      const light = name => {
        const hex = root.getPropertyValue(name).trim().slice(1);
        const full = hex.length === 3 ? [...hex].map(c => c + c).join('') : hex;
        const [r, g, b] = [0, 2, 4].map(at => parseInt(full.slice(at, at + 2), 16) / 255)
          .map(c => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b; // WCAG 2.1, relative luminance
      };
      const found = {};
      for (const ground of ['--paper', '--card'])
        for (const ink of ['--ink', '--soft', '--before', '--after', '--good', '--bad', '--rapid', '--retract']) {
          const [a, b] = [light(ink), light(ground)];
          found[ink + ' on ' + ground] = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
        }
      return found;
    });
    for (const [pair, ratio] of Object.entries(ratios)) assert.ok(ratio >= 4.5, `${colorScheme}: ${pair} is ${ratio.toFixed(2)}`);
    await close();
  }
});

test('the path can be run along, turned, zoomed and asked', async t => {
  if (!scripted) return t.skip('this build has no scripts');
  const {page, complaints, close} = await open(yoke);
  const block = page.locator('#block-text');
  const scrub = page.locator('#scrub');
  const picture = async () => (await page.locator('.stage canvas').screenshot()).toString('base64');
  const last = await block.innerText();
  await scrub.evaluate(input => { input.value = input.max / 2; input.dispatchEvent(new Event('input')); });
  const middle = await block.innerText();
  assert.notEqual(middle, last);
  // The block's words stand at that line of the written program.
  const line = Number(/line (\d+)/.exec(middle)[1]);
  const written = readFileSync(join(folder, 'yoke.nc'), 'utf8').split(/\r?\n/);
  assert.equal(middle.split('\n')[0].trim(), written[line - 1].trim());
  const oblique = await picture();
  await page.getByRole('button', {name: 'from above'}).click();
  await page.waitForTimeout(200);
  const above = await picture();
  assert.notEqual(above, oblique);
  await page.locator('.stage').focus();
  await page.keyboard.press('+');
  await page.keyboard.press('ArrowLeft');
  await page.waitForTimeout(200);
  assert.notEqual(await picture(), above);
  await page.keyboard.press('PageDown');
  assert.notEqual(await block.innerText(), middle);
  await page.getByRole('button', {name: 'from above'}).click();
  // The lower edge of the outline lies on a vertical through the middle: somewhere on it a block must be found.
  const box = await page.locator('.stage').boundingBox();
  const seen = new Set();
  for (let share = 0.1; share < 0.95; share += 0.02) {
    await page.mouse.move(box.x + box.width / 2, box.y + box.height * share);
    await page.waitForTimeout(30);
    seen.add(await block.innerText());
  }
  assert.ok(seen.size > 3, `pointing found ${seen.size} blocks`);
  assert.deepEqual(complaints, []);
  await close();
});

test('passes without one meridian show their cusps pair by pair, with the extremes of the JSON', async () => {
  for (const [fixture, what, finish] of [['crown-hole', 'lines', 'cusp:2um'], ['variable-round', 'levels', 'cusp:2um'], ['organic-wall', 'levels', 'cusp:2um']]) {
    const file = join(folder, fixture + '.html');
    const {stdout} = spawnSync(program, ['rewrite', join(source, 'fixtures', fixture, 'program.nc'), '--tools', 'workshop', '--finish', finish,
      '-o', join(folder, fixture + '.nc'), '--report', file, '--json', '-'], {env, encoding: 'utf8', maxBuffer: 1 << 28});
    const [pass] = JSON.parse(stdout).passes;
    const {page, complaints, close} = await open(file);
    const section = page.locator('#pass-1');
    assert.equal(await section.locator('#meridian-1').count(), 0);
    assert.match(await section.innerText(), /No section is drawn/);
    for (const side of pass.status === 'restepped' ? ['before', 'after'] : ['before']) {
      const cells = section.locator(`details[data-side=${side}] tbody td:last-child`);
      const cusps = (await cells.allTextContents()).filter(Boolean).map(Number);
      assert.equal(await cells.count(), pass[side].levels, `${what} of ${fixture}, ${side}`);
      assert.equal(cusps.length, pass[side].levels - 1);
      assert.ok(Math.abs(Math.max(...cusps) - pass[side].cusp_max_um) < 0.00051, `${fixture}, ${side}`);
    }
    assert.match(await section.locator('svg#cusp-1 > desc').textContent(), what === 'lines' ? /place across the lines/ : /height of the tool/);
    // It has its colour and number in the views, kept or not.
    assert.equal(await page.locator('svg#plan .pin.p0 text').textContent(), '1');
    await keep(page, fixture);
    assert.deepEqual(complaints, []);
    await close();
  }
});

test('findings and edits can be filtered by kind and by words', async t => {
  if (!scripted) return t.skip('this build has no scripts');
  const {page, close} = await open(yoke);
  const rows = () => page.locator('#edits tbody tr:visible').count();
  const all = await rows();
  await page.locator('#edits input[type=search]').fill('retract to machine');
  const some = await rows();
  assert.ok(some > 0 && some < all);
  assert.match(await page.locator('#edits .count').innerText(), new RegExp(`^${some} of ${all}`));
  await page.locator('#findings').getByLabel('note').uncheck();
  assert.equal(await page.locator('#findings tbody tr:visible').count(), json.findings.filter(one => one.severity !== 'note').length);
  await close();
});

test('every finishing pass has a colour, a number and a switch', async t => {
  const still = await open(yoke, {javaScriptEnabled: false});
  const known = json.passes.filter(pass => pass.surface.length || pass.status === 'restepped');
  assert.ok(known.length > 1);
  const strokes = [];
  for (const [place, pass] of known.entries()) {
    for (const view of ['plan', 'side']) {
      const line = still.page.locator(`svg#${view} path.cut.p${place}`);
      assert.equal(await line.count(), 1);
      if (view === 'plan') strokes.push(await line.evaluate(path => getComputedStyle(path).stroke));
      assert.equal(await still.page.locator(`svg#${view} .pin.p${place} text`).textContent(), String(pass.index));
    }
    assert.match(await still.page.locator('#path .legend').innerText(), new RegExp(`pass ${pass.index},`));
  }
  assert.equal(new Set(strokes).size, known.length);
  await still.close();
  if (!scripted) return t.skip('this build has no scripts');
  const {page, complaints, close} = await open(yoke);
  const picture = async () => (await page.locator('.stage canvas').screenshot()).toString('base64');
  const whole = await picture();
  for (const pass of known) {
    const box = page.getByLabel(`pass ${pass.index}`, {exact: true});
    await box.uncheck();
    await page.waitForTimeout(150);
    assert.notEqual(await picture(), whole);
    await box.check();
  }
  assert.deepEqual(complaints, []);
  await close();
});

test('the page of a comparison says what the JSON says, also on a phone and in the dark', async () => {
  const file = join(folder, 'both.html');
  const args = ['compare', join(source, 'fixtures/bell-yoke/program.nc'), join(folder, 'yoke.nc'), '--json', '-', '--report', file];
  const {stdout, status} = spawnSync(program, args, {env, encoding: 'utf8'});
  const result = JSON.parse(stdout);
  assert.equal(status, 1);
  for (const [name, options] of [['comparison', {}], ['comparison-phone', {viewport: {width: 360, height: 740}, colorScheme: 'dark'}]]) {
    const {page, complaints, close} = await open(file, options);
    assert.equal((await page.locator('#verdict').innerText()).slice(2).toLowerCase().trim(), result.verdict + '.');
    assert.equal(await page.locator('#differences tbody tr').count(), result.differences.length);
    for (const difference of result.differences)
      for (const side of ['a', 'b']) assert.ok((await page.locator('#differences').innerText()).includes(`line ${difference['line_' + side]}`));
    for (const side of ['a', 'b'])
      assert.equal(number(await page.locator(`[data-figure=cuts_${side}]`).innerText()), result[side].cuts);
    assert.equal(number(await page.locator('[data-figure=deviation_um]').innerText()), result.deviation_um);
    if (scripted) await page.locator('.still-views summary').click();
    for (const id of ['plan', 'side']) assert.equal(await page.locator(`svg#${id} path.way-a`).isVisible(), true);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true, 'nothing sticks out sideways');
    await keep(page, name);
    assert.deepEqual(complaints, []);
    await close();
  }
});

test('both ways of a comparison can be turned, run along and asked for both blocks', async t => {
  if (!scripted) return t.skip('this build has no scripts');
  const file = join(folder, 'ways.html'), part = join(source, 'fixtures/bell-yoke/program.nc'), other = join(folder, 'moved.nc');
  // The same program two lines further down: hovering finds the very block of the other program.
  const blocks = readFileSync(part, 'utf8').split(/\r?\n/);
  writeFileSync(other, ['(two lines more)', '(than the other)', ...blocks].join('\n'));
  restep('compare', part, other, '--report', file);
  const {page, complaints, close} = await open(file);
  const words = page.locator('#block-text p'), stage = page.locator('.stage');
  const said = async () => (await words.allInnerTexts()).map(text => ({code: /: ?(.*)/.exec(text)[1], line: Number(/line (\d+) of/.exec(text)?.[1])}));
  const picture = async () => (await stage.locator('canvas').screenshot()).toString('base64');
  const check = async where => {
    const [a, b] = await said();
    if (!a.line || !b.line) return 0;
    assert.equal(b.line, a.line + 2, where);
    assert.equal(a.code, blocks[a.line - 1].trim(), where);
    assert.equal(b.code, a.code, where);
    return a.line;
  };
  const scrub = page.locator('#scrub'), along = new Set();
  for (const share of [0, 0.3, 0.6, 1]) {
    await scrub.evaluate((input, share) => { input.value = Math.round(input.max * share); input.dispatchEvent(new Event('input')); }, share);
    along.add(await check(`at ${share}`));
  }
  assert.ok(along.size > 3);
  const oblique = await picture();
  await page.getByRole('button', {name: 'from above'}).click();
  await page.waitForTimeout(200);
  const above = await picture();
  assert.notEqual(above, oblique);
  await stage.focus();
  await page.keyboard.press('+');
  await page.waitForTimeout(200);
  assert.notEqual(await picture(), above);
  await page.getByRole('button', {name: 'from above'}).click();
  await stage.scrollIntoViewIfNeeded();
  const box = await stage.boundingBox(), seen = new Set();
  for (let share = 0.1; share < 0.95; share += 0.02) {
    await page.mouse.move(box.x + box.width / 2, box.y + box.height * share);
    await page.waitForTimeout(60);
    seen.add(await check(`pointing at ${share}`));
  }
  assert.ok(seen.size > 3, `pointing found ${seen.size} blocks`);
  // Each way has its switch and its own look.
  await page.mouse.move(0, 0);
  for (const name of ['cuts of A (wide, behind)', 'cuts of B (thin, in front)', 'rapids of A (dashed)', 'rapids of B (dotted)']) {
    const whole = await picture(), tick = page.getByLabel(name, {exact: true});
    await tick.uncheck();
    await page.waitForTimeout(150);
    assert.notEqual(await picture(), whole, name);
    await tick.check();
    await page.waitForTimeout(150);
  }
  assert.deepEqual(complaints, []);
  await close();
});

test('where only one of two programs cuts, the other is said to be away', async t => {
  if (!scripted) return t.skip('this build has no scripts');
  const a = join(folder, 'a.nc'), b = join(folder, 'b.nc'), file = join(folder, 'apart.html');
  writeFileSync(a, 'G21 G90 G17\nM3 S1000\nG0 X0 Y0 Z1\nG1 Z0 F100\nX10\nY10\nM30\n');
  writeFileSync(b, 'G21 G90 G17\nM3 S1000\nG0 X0 Y0 Z1\nG1 Z0 F100\nX10\nY-10\nM30\n');
  assert.equal(spawnSync(program, ['compare', a, b, '--report', file], {env}).status, 1);
  const {page, complaints, close} = await open(file);
  await page.getByRole('button', {name: 'from above'}).click();
  await page.locator('.stage').scrollIntoViewIfNeeded();
  const box = await page.locator('.stage').boundingBox();
  let found;
  for (let x = 0.7; x > 0.5 && !found; x -= 0.002) {
    await page.mouse.move(box.x + box.width * x, box.y + box.height * 0.3);
    await page.waitForTimeout(60);
    const text = await page.locator('#block-text').innerText();
    if (text.includes('A: Y10') && text.includes('away')) found = text;
  }
  assert.match(found, /A: Y10\s+line 6 of A.*\s+B: (X10|Y-10)\s+line [56] of B.* [\d.]+ mm away/);
  await keep(page, 'apart');
  assert.deepEqual(complaints, []);
  await close();
});

test('the keyboard reaches every control, and motion is reduced when that is wished', async t => {
  const {page, close} = await open(yoke, {reducedMotion: 'reduce'});
  assert.equal(await page.evaluate(() => getComputedStyle(document.documentElement).scrollBehavior), 'auto');
  await page.evaluate(() => document.querySelectorAll('details').forEach(one => { one.open = true; }));
  const wanted = await page.evaluate(() => [...document.querySelectorAll('a[href], button, input, summary, select, [tabindex="0"]')]
    .filter(one => one.checkVisibility()).map((one, k) => (one.dataset.stop = k, k)));
  const reached = new Set();
  for (let k = 0; k < wanted.length + 20; ++k) {
    await page.keyboard.press('Tab');
    reached.add(await page.evaluate(() => Number(document.activeElement.dataset.stop ?? -1)));
  }
  assert.deepEqual(wanted.filter(stop => !reached.has(stop)), []);
  await close();
});

test('inspect shows one side only', async () => {
  const {page, complaints, close} = await open(look);
  assert.equal(await page.locator('section#edits').count(), 0);
  assert.equal(await page.locator('details[data-side=after]').count(), 0);
  assert.deepEqual(complaints, []);
  await close();
});

test('the page of the demo stays below 2 MB', () => assert.ok(statSync(yoke).size < 2_000_000, `${statSync(yoke).size} bytes`));

// ISO 216: A4 is 210 mm by 297 mm. The style sheet's margins are 14 mm; a CSS pixel is 1/96 inch.
const margin = 14, printable = (210 - 2 * margin) / 25.4 * 96;
const printed = join(folder, 'printed.html'), raster = join(folder, 'printed-raster.html');

test('pages print on A4: nothing is wider than the paper, dark on light, every still figure shown', async () => {
  spawnSync(program, ['compare', join(source, 'fixtures/bell-yoke/program.nc'), join(folder, 'yoke.nc'), '--report', printed], {env});
  restep('inspect', join(source, 'fixtures/crown-hole/program.nc'), '--tools', 'workshop', '--report', raster);
  for (const [name, file, most] of [['rewrite', yoke, 12], ['inspect', look, 12], ['parallel pass', raster, 6], ['compare', printed, 4]]) {
    const {page, close} = await open(file, {colorScheme: 'dark', viewport: {width: Math.floor(printable), height: 1000}});
    const pdf = (await page.pdf({preferCSSPageSize: true, printBackground: true, ...(shots ? {path: join(shots, `print-${name}.pdf`)} : {})})).toString('latin1');
    const boxes = [...pdf.matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/g)];
    for (const box of boxes)
      assert.ok(Math.abs(box[1] / 72 * 25.4 - 210) < 1 && Math.abs(box[2] / 72 * 25.4 - 297) < 1, box[0]);
    const pages = [...pdf.matchAll(/\/Type\s*\/Page\b/g)].length;
    assert.ok(pages >= 2 && pages <= most, `${name} has ${pages} pages`);
    await page.emulateMedia({media: 'print', colorScheme: 'dark'});
    const paper = await page.evaluate(() => {
      dispatchEvent(new Event('beforeprint'));
      const wide = [...document.querySelectorAll('body *')].filter(one => !one.closest('svg') || one.tagName === 'svg')
        .filter(one => one.checkVisibility() && (one.getBoundingClientRect().right > innerWidth + 1 || one.getBoundingClientRect().left < -1))
        .filter(one => !one.classList.contains('skip'));
      const style = getComputedStyle(document.body), gone = [...document.querySelectorAll('canvas, .stage, nav, input, button')].filter(one => one.checkVisibility());
      const figures = [...document.querySelectorAll('svg[role=img]')].filter(one => !one.checkVisibility());
      return {wide: wide.map(one => one.outerHTML.slice(0, 120)), ink: style.color, ground: style.backgroundColor,
        gone: gone.map(one => one.outerHTML.slice(0, 80)), hidden: figures.map(one => one.id)};
    });
    assert.deepEqual(paper, {wide: [], ink: 'rgb(0, 0, 0)', ground: 'rgb(255, 255, 255)', gone: [], hidden: []}, name);
    await close();
  }
});

test('a hundred thousand moves stay fluid, a million are thinned and say so', async t => {
  if (!scripted || !process.env.RESTEP_FIXTURES) return t.skip('no scripts, or no generator');
  for (const [bytes, name] of [[2_600_000, 'hundred thousand'], [26_000_000, 'million']]) {
    const raster = join(folder, 'raster.nc'), file = join(folder, 'raster.html');
    execFileSync(process.env.RESTEP_FIXTURES, ['raster', raster, '--bytes', String(bytes)], {stdio: 'ignore'});
    const told = join(folder, 'raster.json');
    restep('inspect', raster, '--report', file, '--json', told);
    const {page, complaints, close} = await open(file);
    const note = await page.locator('#path > p').innerText();
    const motions = number(/(\d+) motions/.exec(note)[0]);
    const counted = JSON.parse(readFileSync(told, 'utf8')).motions;
    assert.equal(motions, counted, 'the note counts the motions of the JSON');
    // Of the first two nobody knows where they begin: X and Y, then Z.
    assert.equal(number(/(\d+) of them cannot be drawn/.exec(note)[0]), 2);
    const spaced = await page.locator('#path-space .remark').innerText();
    assert.equal(number(/(\d+)( of \d+)? motions/.exec(spaced)[0]), motions - 2);
    if (name === 'million') {
      const drawn = await page.evaluate(() => JSON.parse(document.getElementById('restep-data').textContent).path.flags.length);
      assert.ok(motions > 900_000 && drawn <= 100_000, `${motions} motions in ${drawn} lines`);
      assert.equal(number(/drawn in (\d+)/.exec(spaced)[0].slice(9)), drawn);
    }
    if (name === 'million') assert.match(note, /drawn in \d+ lines that stay within [\d.]+ mm of the path/);
    const times = await page.evaluate(async () => {
      const scrub = document.getElementById('scrub'), took = [];
      for (let k = 0; k <= 40; ++k) {
        const start = performance.now();
        scrub.value = scrub.max * k / 40;
        scrub.dispatchEvent(new Event('input'));
        await new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)));
        took.push(performance.now() - start);
      }
      return took.sort((a, b) => a - b);
    });
    const median = times[times.length >> 1];
    t.diagnostic(`${motions} motions, ${(statSync(file).size / 1e6).toFixed(1)} MB, scrubbing: median ${median.toFixed(1)} ms, worst ${times.at(-1).toFixed(1)} ms for two frames (software rendering)`);
    assert.ok(median < 200, `${name}: ${median} ms`);
    assert.deepEqual(complaints, []);
    await close();
  }
});
