import { describe, expect, it } from 'vitest'
import type { Made, Queued } from '../../lib/queue'
import { standing, type LogDay } from './standing'

const id = (n: number): string => `01900000-0000-7000-8000-${String(n).padStart(12, '0')}`

function made(n: number, kind: string, more: Record<string, unknown> = {}, at = n): Made {
  const time = new Date(Date.UTC(2026, 7, 15, 12, at)).toISOString()
  return { id: id(n), device: 'this phone', kind, at: time, ...more }
}

const queued = (event: Made, why?: string): Queued => ({ id: event.id, event, ...(why ? { why } : {}) })

function served(event: Made, more: object = {}): LogDay['entries'][number] {
  const { id, kind, at, rod, ...fields } = event
  return { id, kind, at, rod: rod ?? '', fields, words: { us: 'told' }, checks: [], ...more } as never
}

function day(entries: Made[], more: object = {}): LogDay {
  const known = entries.map((each) => each.id)
  return { entries: entries.map((each) => served(each)), undone: [], came: [], known, ...more } as never
}

const OUT = made(1, 'line_out', { rod: 'port', lure: 'a', body: 'minnow', let_out_m: 30 })

describe('what was made here over what the boat told', () => {
  it('is in its place, once, and says what waits', () => {
    const change = made(3, 'line_change', { rod: 'port', let_out_m: 40 })
    const { items, rods } = standing(day([OUT, made(4, 'note')]), [queued(OUT)], [queued(change)])
    expect(items.map((item) => [item.id, item.waiting])).toEqual([
      [id(1), false],
      [id(3), true],
      [id(4), false],
    ])
    expect(rods).toMatchObject([{ rod: 'port', out: true, lure: 'a', body: 'minnow', let_out_m: 40 }])
  })

  it('another lure says nothing of the old one’s looks', () => {
    const change = made(2, 'line_change', { rod: 'port', lure: 'b' })
    const { rods } = standing(day([OUT]), [], [queued(change)])
    expect(rods).toMatchObject([{ lure: 'b', body: '', let_out_m: 30 }])
  })

  it('a line that is in stays known with what was last on it', () => {
    const { rods } = standing(day([OUT]), [], [queued(made(2, 'line_in', { rod: 'port' }))])
    expect(rods).toMatchObject([{ rod: 'port', out: false, lure: 'a' }])
  })

  it('what was refused is shown with why, and counts for nothing', () => {
    const { items, rods } = standing(null, [], [queued(OUT, 'no such rig')])
    expect(items).toMatchObject([{ why: 'no such rig', waiting: false, refused: [id(1)] }])
    expect(rods).toEqual([])
  })
})

describe('undo', () => {
  const undo = made(5, 'undo', { target: id(1) })

  it('takes back, and an undo of it brings back', () => {
    expect(standing(day([OUT]), [], [queued(undo)]).rods).toEqual([])
    const again = made(6, 'undo', { target: id(5) })
    const { items, rods } = standing(day([OUT]), [], [queued(undo), queued(again)])
    expect(items[0]!.undo).toBe('')
    expect(rods).toHaveLength(1)
  })

  it('takes back only what was named before it, in whatever order it comes', () => {
    const later = made(7, 'note')
    const bad = made(2, 'undo', { target: id(7) })
    expect(standing(day([later]), [], [queued(bad)]).items[0]!.undo).toBe('')
  })
})

describe('corrections', () => {
  it('count by when they were made, and null takes a field out', () => {
    const fish = made(1, 'catch', { rod: 'port', species: 'perch', length_m: 0.3 })
    const first = made(2, 'correct', { target: id(1), changes: { species: 'walleye' } }, 8)
    const last = made(3, 'correct', { target: id(1), changes: { species: 'pike', length_m: null } }, 7)
    const { items } = standing(day([fish]), [], [queued(last), queued(first)])
    expect(items[0]!.fields).toMatchObject({ species: 'walleye' })
    expect(items[0]!.fields).not.toHaveProperty('length_m')
    expect(items[0]).toMatchObject({ waiting: true, words: null })
  })

  it('of the time move the entry, and undone ones do nothing', () => {
    const move = made(3, 'correct', { target: id(1), changes: { at: '2026-08-15T12:30:00Z' } })
    const moved = standing(day([OUT, made(2, 'note')]), [], [queued(move)])
    expect(moved.items.map((item) => item.id)).toEqual([id(2), id(1)])
    const back = made(4, 'undo', { target: id(3) })
    const stays = standing(day([OUT, made(2, 'note')]), [], [queued(move), queued(back)])
    expect(stays.items.map((item) => item.id)).toEqual([id(1), id(2)])
  })
})
