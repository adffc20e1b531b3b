// Asks the app's own sun, moon and winds the questions of a file, a line each, by the clock of TZ.
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'

const [frontend, questions] = process.argv.slice(2)
const ts = createRequire(join(frontend, 'package.json'))('typescript')
// beside the packages, so that theirs are found from it
const cache = join(frontend, 'node_modules', '.cache')
mkdirSync(cache, { recursive: true })
const folder = mkdtempSync(join(cache, 'sky-'))
process.on('exit', () => rmSync(folder, { recursive: true, force: true }))
const lib = (name) => readFileSync(join(frontend, 'src', 'lib', name), 'utf8')
writeFileSync(join(folder, 'winds.json'), lib('sky/winds.json'))
for (const name of ['when', 'sky/crossings', 'sky/sun', 'sky/wind']) {
  const { outputText } = ts.transpileModule(lib(`${name}.ts`), {
    compilerOptions: { target: 'ES2022', module: 'ESNext', verbatimModuleSyntax: true },
  })
  const linked = outputText
    .replace(/from '\.\.?\/(\w+)'/g, "from './$1.mjs'")
    .replace("from './winds.json'", "from './winds.json' with { type: 'json' }")
  writeFileSync(join(folder, `${name.split('/').at(-1)}.mjs`), linked)
}
const { day } = await import(pathToFileURL(join(folder, 'sun.mjs')).href)
const { force } = await import(pathToFileURL(join(folder, 'wind.mjs')).href)
for (const line of readFileSync(questions, 'utf8').split('\n').filter(Boolean)) {
  const { lat, lon, on, wind } = JSON.parse(line)
  console.log(JSON.stringify(wind === undefined ? day(lat, lon, on) : force(wind)))
}
