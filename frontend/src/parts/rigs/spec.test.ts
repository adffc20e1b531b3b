import { beforeEach, describe, expect, it } from 'vitest'
import { units } from '../../lib/units'
import { named, spec, type Draft } from './spec'
import type { Stock } from './types'

const STOCK = {
  lines: [{ lines: [{ name: 'core', color_length_m: 9.144 }, { name: 'mono' }] }],
} as unknown as Stock
const DRAFT: Draft = {
  lure: 'small-minnow',
  tip_m: 0.9144,
  pieces: [
    { line: 'mono', length_m: 9.144 },
    { line: 'core', length_m: 68.58 },
  ],
  reel: null,
  counter: 1,
  note: '',
  rated: null,
}

beforeEach(() => {
  units.choice = 'us'
})

describe('a rig as it is told to the boat', () => {
  it('counts colours where they are whole or half ones', () => {
    expect(spec(DRAFT, STOCK).line).toEqual([
      { line: 'mono', length: '30 ft' },
      { line: 'core', length: '7.5 colors' },
    ])
    expect(spec(DRAFT, STOCK)).toMatchObject({ lure: 'small-minnow', lures: {}, tip_height: '3 ft' })
  })

  it('calls a lure of the crew’s own as they do, under a key made from it', () => {
    const rated = {
      name: 'Åke’s Green Shad',
      body: 'minnow',
      size_m: 0.0508,
      depth_m: 3.048,
      let_out_m: 30.48,
    }
    const told = spec({ ...DRAFT, rated: { ...rated, speed_m_s: 0.89408, line: 'mono', colour: '' } }, STOCK)
    expect(told.lure).toBe('akes-green-shad')
    expect(told.lures).toMatchObject({
      'akes-green-shad': {
        name: 'Åke’s Green Shad',
        size: '2 in',
        rating: { depth: '10 ft', speed: '2 mph' },
      },
    })
  })

  it('has a key for any name', () => {
    expect([' Red / White 5 ', '左舷', '--'].map(named)).toEqual(['red-white-5', 'my-lure', 'my-lure'])
  })
})
