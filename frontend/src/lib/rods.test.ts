// @vitest-environment happy-dom
import { expect, it } from 'vitest'
import { byRod } from './rods'

const ordered = (rods: string[]): string[] => [...rods].sort(byRod)

it('orders rods as they stand on the boat, port to starboard', () => {
  expect(ordered(['starboard', 'centre', 'port'])).toEqual(['port', 'centre', 'starboard'])
  expect(
    ordered(['starboard board', 'starboard inside', 'starboard', 'port inside', 'port', 'port board']),
  ).toEqual(['port board', 'port', 'port inside', 'starboard inside', 'starboard', 'starboard board'])
})

it('is one order for all phones, whatever the rods are called and in whatever order they came', () => {
  const rods = ['Rod 10', 'Rod 2', 'port', 'PORT', 'Ann']
  expect(ordered(rods)).toEqual(ordered([...rods].reverse()))
  expect(ordered(['Rod 10', 'Rod 2'])).toEqual(['Rod 2', 'Rod 10'])
})
