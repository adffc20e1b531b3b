// Asks the built core every case of a file, a line each, through the app's own wrapper; prints what
// it answers. With "time" in a line, the question is asked so many times, and the best time told.
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'

const [frontend, cases] = process.argv.slice(2)
const ts = createRequire(join(frontend, 'package.json'))('typescript')
const folder = mkdtempSync(join(tmpdir(), 'core-'))
for (const name of ['arena', 'entries', 'core']) {
  const { outputText } = ts.transpileModule(readFileSync(join(frontend, 'src', 'lib', 'core', `${name}.ts`), 'utf8'), {
    compilerOptions: { target: 'ES2022', module: 'ESNext', verbatimModuleSyntax: true },
  })
  writeFileSync(join(folder, `${name}.mjs`), outputText.replace(/from '(\.\/\w+)'/g, "from '$1.mjs'"))
}
const { Core } = await import(pathToFileURL(join(folder, 'core.mjs')).href)
const core = await Core.start(readFileSync(join(frontend, 'public', 'core.wasm')))

const kinds = { doubles: Float64Array, singles: Float32Array, integers: Int32Array }
const bytes = (values) => Buffer.from(values.buffer, values.byteOffset, values.byteLength).toString('base64')

function laid(value, filled, path) {
  if (value.number !== undefined) return new Float64Array(Uint8Array.from(Buffer.from(value.number, 'base64')).buffer)[0]
  if (value.kind !== undefined) {
    const values = value.bytes && new kinds[value.kind](Uint8Array.from(Buffer.from(value.bytes, 'base64')).buffer)
    const array = core.arena[value.kind](value.sizes, values)
    filled[path] = array
    return array
  }
  return Object.fromEntries(
    Object.entries(value).map(([name, own]) => [name, laid(own, filled, path ? `${path}.${name}` : name)]),
  )
}

const start = core.arena.mark()
for (const line of readFileSync(cases, 'utf8').split('\n').filter(Boolean)) {
  const { way, given, wanted, time } = JSON.parse(line)
  core.arena.freeTo(start)
  const filled = {}
  const words = laid(given, filled, '')
  let result = core.ask(way, words)
  let best = Infinity
  for (let i = 0; i < (time ?? 0); i++) {
    const begun = performance.now()
    result = core.ask(way, words)
    best = Math.min(best, performance.now() - begun)
  }
  const arrays = Object.fromEntries(wanted.map((path) => [path, bytes(filled[path].values)]))
  const plain = Array.isArray(result) ? result : result === undefined ? [] : [Number(result)]
  console.log(JSON.stringify({ result: bytes(Float64Array.from(plain)), arrays, best }))
}
