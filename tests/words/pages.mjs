// What the pages' rule makes of the shared cases: printed as JSON, for test_words.py to compare.
import { readFileSync } from 'node:fs'
import { looksOf, spell } from '../../frontend/src/lib/spelling.ts'

const read = (path) => JSON.parse(readFileSync(new URL(path, import.meta.url), 'utf8'))
const table = read('../../frontend/src/lib/words.json')
const cases = read('./cases.json')
console.log(
  JSON.stringify({
    spelled: cases.spelled.map(([text]) => [spell(text, 'metric', table), spell(text, 'us', table)]),
    own: spell(cases.own.text, 'us', table, cases.own.own),
    rods: cases.rods.map((names) => Object.fromEntries(looksOf(names, table))),
  }),
)
