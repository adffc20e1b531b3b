import { beforeEach, expect, it, vi } from 'vitest'
import { drafted } from './draft'

function storage(full = false): Storage {
  const held = new Map<string, string>()
  return {
    getItem: (key: string) => held.get(key) ?? null,
    setItem(key: string, value: string) {
      if (full) throw new DOMException('full', 'QuotaExceededError')
      held.set(key, value)
    },
    removeItem: (key: string) => void held.delete(key),
  } as Storage
}

beforeEach(() => {
  vi.stubGlobal('sessionStorage', storage())
  drafted('log.fish').drop()
})

it('is kept until it is logged', () => {
  drafted('log.fish').put({ species: 'walleye', length_m: 0.5 })
  expect(drafted('log.fish').get()).toEqual({ species: 'walleye', length_m: 0.5 })
  expect(drafted('log.note').get()).toBeNull()
  drafted('log.fish').drop()
  expect(drafted('log.fish').get()).toBeNull()
})

it('is kept while the page lives where the browser keeps nothing', () => {
  vi.stubGlobal('sessionStorage', storage(true))
  drafted('log.fish').put({ species: 'perch' })
  expect(drafted('log.fish').get()).toEqual({ species: 'perch' })
  drafted('log.fish').drop()
  expect(drafted('log.fish').get()).toBeNull()
})

it('is nothing where what is kept cannot be read', () => {
  sessionStorage.setItem('towscope.draft.log.fish', '{"species": "wal')
  expect(drafted('log.fish').get()).toBeNull()
})
