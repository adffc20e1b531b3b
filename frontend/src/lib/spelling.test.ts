// The rule itself is tried on the cases that Python is tried on (tests/words); here what only a
// page's texts bring.
import { describe, expect, it } from 'vitest'
import { looksOf, spell, type Table } from './spelling'
import list from './words.json'

const table = list as unknown as Table

describe('spelling', () => {
  it('follows the unit system', () => {
    expect(spell('3 colours on the centre rod', 'us', table)).toBe('3 colors on the center rod')
    expect(spell('Colours, CENTRE, grey.', 'us-knots', table)).toBe('Colors, CENTER, gray.')
    expect(spell('3 colours on the centre rod', 'metric', table)).toBe('3 colours on the centre rod')
  })

  it('leaves what the crew named and what is quoted as it is', () => {
    expect(spell('centre: the Centre Lake map', 'us', table, ['Centre Lake'])).toBe(
      'center: the Centre Lake map',
    )
    expect(spell('can’t read "3 colours"', 'us', table)).toBe('can’t read "3 colours"')
    expect(spell('a (grey) lure', 'us', table, ['(grey)'])).toBe('a (grey) lure')
  })

  it('touches no word within another, no path and no option', () => {
    expect(spell('greyhound --colour /centre/line.grey colour=red', 'us', table)).toBe(
      'greyhound --colour /centre/line.grey colour=red',
    )
  })
})

describe('the look of rods', () => {
  it('does not depend on the order in which they are named', () => {
    const names = ['port', 'centre', 'the long one', 'Kid’s rod', 'starboard', 'board 2']
    const looks = looksOf(names, table)
    expect(looksOf([...names].reverse(), table)).toEqual(new Map([...looks].reverse()))
    expect(new Set(looks.values()).size).toBe(names.length)
  })

  it('is one for one rod, however its name is written', () => {
    const looks = looksOf(['Center', 'centre', 'CENTRE'], table)
    expect(looks.get('Center')).toEqual(looks.get('centre'))
    expect(looks.get('CENTRE')).toEqual(looks.get('centre'))
  })
})
