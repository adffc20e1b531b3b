// The app's own modules in Node, and questions to them from a file: a line each, answered a line each.
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { pathToFileURL } from 'node:url'

const [frontend, questions] = process.argv.slice(2)

/** A file of the front end, as bytes. */
export const built = (name) => readFileSync(join(frontend, name))

/** Loads modules and tables of src/lib by name: "fish/weight", "fish/tables.json". */
export function pages(...names) {
  const ts = createRequire(join(frontend, 'package.json'))('typescript')
  // beside the packages, so that theirs are found from it
  const cache = join(frontend, 'node_modules', '.cache')
  mkdirSync(cache, { recursive: true })
  const folder = mkdtempSync(join(cache, 'pages-'))
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }))
  for (const name of names) {
    const to = join(folder, name.endsWith('.json') ? name : `${name}.mjs`)
    mkdirSync(dirname(to), { recursive: true })
    const from = (file) => readFileSync(join(frontend, 'src', 'lib', file), 'utf8')
    if (name.endsWith('.json')) {
      writeFileSync(to, from(name))
      continue
    }
    const { outputText } = ts.transpileModule(from(`${name}.ts`), {
      compilerOptions: { target: 'ES2022', module: 'ESNext', verbatimModuleSyntax: true },
    })
    const linked = outputText
      .replace(/from '(\.\.?\/[\w./]+\.json)'/g, "from '$1' with { type: 'json' }")
      .replace(/from '(\.\.?\/[\w/]+)'/g, "from '$1.mjs'")
    writeFileSync(to, linked)
  }
  return (name) => import(pathToFileURL(join(folder, `${name}.mjs`)).href)
}

/** The core as it is built, behind the app's wrapper. */
export async function core(load) {
  const { Core } = await load('core/core')
  return Core.start(built('public/core.wasm'))
}

/** Answers each line of the file of questions. */
export function answerAll(answer) {
  for (const line of readFileSync(questions, 'utf8').split('\n').filter(Boolean))
    console.log(JSON.stringify(answer(JSON.parse(line))))
}
