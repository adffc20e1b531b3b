// Asks the app's own answers to rigs, from the tackle of the first line on.
import { answerAll, built, core as started, pages } from '../pages.mjs'

const load = pages(
  'filled',
  'units.json',
  ...['arena', 'entries', 'core', 'tackle', 'rig', 'answer'].map((name) => `core/${name}`),
)
const core = await started(load)
const { answer } = await load('core/answer')
const { Normals } = await load('core/rig')
const { No } = await load('core/tackle')
const draws = built('public/draws.bin')
const normals = new Normals(draws.buffer.slice(draws.byteOffset, draws.byteOffset + draws.byteLength))

let tackle
answerAll((asked) => {
  if (asked.form) {
    tackle = asked
    return null
  }
  try {
    return answer(core, tackle, normals, asked)
  } catch (error) {
    if (!(error instanceof No)) throw error
    return { why: error.why, figures: error.figures }
  }
})
