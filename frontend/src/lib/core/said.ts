// Puts the words to what the core answers, from the one list that the boat's computer reads too.
import { filled } from '../filled'
import { show } from '../units'
import { spelled, term } from '../words'
import type { Answered } from './answer'
import type { Told } from '../../parts/rigs/types'

function called({ before_m, colors, after_m }: Omit<Told['count'], 'words'>): string {
  if (colors === null) return ''
  if (colors <= 0) return term('count', 'leader')
  const figure = colors.toFixed(1).replace(/\.0$/, '')
  const key = after_m > 0.05 ? 'backing' : figure === '1' ? 'one' : 'colors'
  return filled(term('count', key), {
    leader: before_m > 0 ? term('count', 'then') : '',
    colors: figure,
    after: show(after_m, 'length'),
  })
}

/** The answer with its words. */
export function worded({ told, care }: Answered): Told {
  return {
    ...told,
    count: { ...told.count, words: called(told.count) },
    mind: care.map(({ key, share }) => filled(term('rig_care', key), { share: (100 * share).toFixed(0) })),
  }
}

/** Why there is no answer, in the units shown. */
export function refused(why: string, figures: Record<string, number | string>): string {
  const parts: Record<string, string> = {}
  for (const [name, figure] of Object.entries(figures))
    parts[name] = typeof figure === 'string' ? figure : show(figure, name === 'speed' ? 'speed' : 'length')
  let text = filled(term('no_answer', why), parts)
  if (why === 'out_of_reach') {
    const [can, speed] = [Number(figures.can), Number(figures.speed)]
    if (!Number.isFinite(can)) text += term('no_answer', 'never')
    else text += filled(term('no_answer', can < speed ? 'slower' : 'faster'), { speed: show(can, 'speed') })
  }
  return spelled(text)
}
