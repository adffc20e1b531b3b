// Asks the app's own answers on fish the questions of a file, a line each; prints what they say.
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'

const [frontend, questions] = process.argv.slice(2)
const ts = createRequire(join(frontend, 'package.json'))('typescript')
const folder = mkdtempSync(join(tmpdir(), 'fish-'))
const from = (name) => readFileSync(join(frontend, 'src', 'lib', 'fish', name), 'utf8')
writeFileSync(join(folder, 'tables.json'), from('tables.json'))
for (const name of ['tables', 'release', 'weight', 'limits']) {
  const { outputText } = ts.transpileModule(from(`${name}.ts`), {
    compilerOptions: { target: 'ES2022', module: 'ESNext', verbatimModuleSyntax: true },
  })
  const linked = outputText
    .replace(/from '(\.\/\w+)'/g, "from '$1.mjs'")
    .replace("from './tables.json'", "from './tables.json' with { type: 'json' }")
  writeFileSync(join(folder, `${name}.mjs`), linked)
}
const load = (name) => import(pathToFileURL(join(folder, `${name}.mjs`)).href)
const { speciesNamed } = await load('tables')
const { advice } = await load('release')
const { weigh, NotWeighed } = await load('weight')
const { mayKeep } = await load('limits')

const shown = { size: (m) => `<${m.toFixed(3)}>`, mass: (kg) => `<${kg.toFixed(3)}>` }
const answers = {
  release: ({ caught, system }) => advice(caught, system),
  weigh: ({ species, length_m, weighed_kg }) => {
    try {
      return weigh(speciesNamed(species), length_m, weighed_kg, shown)
    } catch (error) {
      if (!(error instanceof NotWeighed)) throw error
      return { said: error.message }
    }
  },
  keep: ({ limit, length_m, kept }) => mayKeep(limit, length_m, kept, shown.size),
}
for (const line of readFileSync(questions, 'utf8').split('\n').filter(Boolean)) {
  const { what, ...asked } = JSON.parse(line)
  console.log(JSON.stringify(answers[what](asked)))
}
