// node bundle.mjs FOLDER OUTPUT.cpp
// Bundles page.js with the libraries in FOLDER/node_modules and writes it as a C++ source.
import {readFileSync, writeFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {dirname, join, resolve} from 'node:path';
import {fileURLToPath} from 'node:url';

const [folder, output] = process.argv.slice(2);
const modules = resolve(folder, 'node_modules');
const esbuild = createRequire(join(modules, 'x.js'))('esbuild');

const result = await esbuild.build({
  entryPoints: [join(dirname(fileURLToPath(import.meta.url)), 'page.js')],
  bundle: true,
  minify: true,
  write: false,
  format: 'iife',
  target: 'es2020',
  charset: 'ascii',
  legalComments: 'none', // the licences are named in the report's foot
  loader: {'.css': 'text'},
  nodePaths: [modules],
});
const script = result.outputFiles[0].text;

// A string literal may not be endless, so there are many; the compiler joins them.
const pieces = [];
for (let at = 0; at < script.length; at += 4000)
  pieces.push(JSON.stringify(script.slice(at, at + 4000)).replaceAll('?', '\\?'));
const source = `#include "report/html_parts.hpp"

namespace restep::report {

std::string_view page_script() {
  static constexpr char text[] =
${pieces.join('\n')};
  return {text, sizeof text - 1};
}

} // namespace restep::report
`;
const old = (() => { try { return readFileSync(output, 'utf8'); } catch { return ''; } })();
if (old !== source) writeFileSync(output, source);
