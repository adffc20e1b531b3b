// Writes what the front end knows of the back end: src/lib/schema.d.ts from its OpenAPI document,
// src/lib/units.json, its table of units, so that figures can be shown before it answers, and
// src/lib/words.json, the one list of words that both show, src/lib/fish/tables.json, what is known of
// fish, and src/lib/sky/winds.json, the forces of the wind.
import { execFileSync } from 'node:child_process'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import openapiTS, { astToString } from 'openapi-typescript'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const own = join(root, '..', '.venv', 'bin', 'python')
const python = process.env.TOWSCOPE_PYTHON ?? (existsSync(own) ? own : 'python3')
const program = `
import json
from dataclasses import asdict
from towscope.fish.tables import tables as fish
from towscope.sheets.cautions import RULES
from towscope.sky.beaufort import SCALE
from towscope.web.context import AppContext
from towscope.web.app import make_app
from towscope.web.routes.hello import tables
print(json.dumps({
    "openapi": make_app(AppContext(demo=True)).openapi(),
    "units": tables().model_dump(mode="json"),
    "fish": fish(cautions=[RULES]),
    "winds": [asdict(force) for force in SCALE],
}))
`
const told = JSON.parse(execFileSync(python, ['-c', program], { encoding: 'utf8', maxBuffer: 64e6 }))
const types = astToString(await openapiTS(told.openapi))
const put = (name, text) => {
  const path = join(root, 'src', 'lib', name)
  if (!existsSync(path) || readFileSync(path, 'utf8') !== text) writeFileSync(path, text)
}
put('schema.d.ts', '// Made by `npm run types` from the OpenAPI document; not edited by hand.\n' + types)
put('units.json', JSON.stringify(told.units, null, 1) + '\n')
put('fish/tables.json', JSON.stringify(told.fish, null, 1) + '\n')
put('sky/winds.json', JSON.stringify(told.winds, null, 1) + '\n')
put('words.json', readFileSync(join(root, '..', 'src', 'towscope', 'words', 'words.json'), 'utf8'))
