// Asks the app's own answers on fish.
import { answerAll, pages } from '../pages.mjs'

const load = pages('filled', 'fish/tables.json', 'fish/tables', 'fish/release', 'fish/weight', 'fish/limits')
const { speciesNamed } = await load('fish/tables')
const { advice } = await load('fish/release')
const { weigh, NotWeighed } = await load('fish/weight')
const { faultOf, mayKeep } = await load('fish/limits')

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
  fault: ({ limit }) => faultOf(limit),
  keep: ({ limit, length_m, kept }) => mayKeep(limit, length_m, kept, shown.size),
}
answerAll(({ what, ...asked }) => answers[what](asked))
