// A rig while it is being put together, and as it is told to the back end.
import { convert, label } from '../../lib/units'
import type { PieceShown, RigIn, RigShown, Stock } from './types'

export interface Piece {
  line: string
  length_m: number
}
export interface Draft {
  lure: string
  tip_m: number
  pieces: Piece[]
  reel: string | null
  counter: number
  note: string
  /** A lure of its own, by what its package says; null for one that is aboard. */
  rated: Rated | null
}
export interface Rated {
  /** What the crew calls it, as they write it; its key in the tackle file is made from it. */
  name: string
  body: string
  size_m: number
  depth_m: number
  let_out_m: number
  speed_m_s: number
  line: string
  colour: string
}

/** The length of one colour of a line [m], or null. */
export function colorLength(stock: Stock, line: string): number | null {
  for (const group of stock.lines)
    for (const each of group.lines) if (each.name === line) return each.color_length_m ?? null
  return null
}

function trimmed(figure: number): string {
  return String(Number(figure.toFixed(3)))
}

/** A length as a tackle file says it: whole or half colours as such, else in the unit shown. */
export function lengthText(length_m: number, color_m: number | null): string {
  const colors = color_m ? length_m / color_m : 0
  if (color_m && Math.abs(2 * colors - Math.round(2 * colors)) < 1e-4)
    return `${trimmed(Math.round(2 * colors) / 2)} colors`
  return `${trimmed(convert(length_m, 'length'))} ${label('length')}`
}

export function spec(draft: Draft, stock: Stock): RigIn {
  const length = (si: number) => `${trimmed(convert(si, 'length'))} ${label('length')}`
  const rated = draft.rated
  const made: RigIn = {
    title: '',
    lure: rated ? named(rated.name) : draft.lure,
    tip_height: length(draft.tip_m),
    line: draft.pieces.map((piece) => ({
      line: piece.line,
      length: lengthText(piece.length_m, colorLength(stock, piece.line)),
    })),
    counter_factor: draft.counter,
    note: draft.note,
    lures: {},
    lines: {},
  }
  if (draft.reel) made.reel = draft.reel
  if (rated)
    made.lures = {
      [named(rated.name)]: {
        name: rated.name,
        body: rated.body,
        size: `${trimmed(convert(rated.size_m, 'size'))} ${label('size')}`,
        ...(rated.colour ? { colour: rated.colour } : {}),
        rating: {
          depth: length(rated.depth_m),
          let_out: length(rated.let_out_m),
          line: rated.line,
          speed: `${trimmed(convert(rated.speed_m_s, 'speed'))} ${label('speed')}`,
        },
        source: { rating: 'from its package' },
      },
    }
  return made
}

function piece(from: PieceShown): Piece {
  return { line: from.line, length_m: from.length_m }
}

/** A draft that begins as a rig aboard. */
export function draftOf(rig: RigShown): Draft {
  return {
    lure: rig.lure,
    tip_m: rig.tip_height_m,
    pieces: (rig.pieces ?? []).map(piece),
    reel: rig.reel ?? null,
    counter: rig.counter_factor ?? 1,
    note: rig.note ?? '',
    rated: null,
  }
}

/** What a crew without files begins from: the stock's own first rig. */
export function usual(stock: Stock): Draft {
  const { leader, main, backing, lure, tip_height_m } = stock.start
  return {
    lure,
    tip_m: tip_height_m,
    pieces: [leader, main, backing].map(piece),
    reel: null,
    counter: 1,
    note: '',
    rated: null,
  }
}

/** Whether two names are one: capitals and spaces aside. */
export function sameName(a: string, b: string): boolean {
  const plain = (text: string): string =>
    text.normalize('NFC').toLowerCase().split(/\s+/).filter(Boolean).join(' ')
  return plain(a) === plain(b)
}

/** The key that a lure has in a tackle file, from what people call it. */
export function named(text: string): string {
  const key = text
    .normalize('NFKD')
    .replace(/[\p{M}'’]/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 64)
  return key || 'my-lure'
}
