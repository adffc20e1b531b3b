// How the lake is drawn: its colours by day and night, and its layers from the bottom up.
import type { FilterSpecification, LayerSpecification, StyleSpecification } from 'maplibre-gl'
import type { Look } from '../../lib/look.svelte'

type Shade = Exclude<Look, 'auto'>

export interface Palette {
  land: string
  /** Shallow to deep, evenly apart. */
  water: string[]
  shore: string
  ink: string
  halo: string
  /** Contours over the shallow and over the deep half. */
  shallowLine: string
  deepLine: string
  edge: string
  edgeHalo: string
  way: string
  wayHalo: string
  lureHalo: string
  boat: string
  boatHalo: string
}

// The same palette as on paper, evenly dark from shallow to deep; told apart in grey too.
export const PALETTES: Record<Shade, Palette> = {
  day: {
    land: '#efeae0',
    water: ['#f4f8f2', '#cfe6dc', '#9fcfc8', '#6fb1b5', '#478f9f', '#2f6c86', '#234a68', '#1b2c49'],
    shore: '#1a1f24',
    ink: '#1a1f24',
    halo: '#ffffff',
    shallowLine: '#24343c',
    deepLine: '#dfeceb',
    edge: '#b4371e',
    edgeHalo: '#ffffff',
    way: '#f2b705',
    wayHalo: '#1a1f24',
    lureHalo: '#ffffff',
    boat: '#0b1a24',
    boatHalo: '#ffffff',
  },
  night: {
    land: '#0b0d0b',
    water: ['#3b5561', '#314b58', '#28414e', '#203644', '#182b39', '#11212e', '#0b1823', '#060f18'],
    shore: '#8fa3ad',
    ink: '#e6eef2',
    halo: '#060d12',
    shallowLine: '#a9bfca',
    deepLine: '#7f98a6',
    edge: '#ff9a80',
    edgeHalo: '#1c0904',
    way: '#ffcf40',
    wayHalo: '#1c1600',
    lureHalo: '#160022',
    boat: '#ffffff',
    boatHalo: '#060d12',
  },
}

const is = (kind: string): FilterSpecification => ['==', ['get', 'kind'], kind]
const EMPTY = { type: 'FeatureCollection' as const, features: [] }
/** Sources that are filled while the map is up. */
export const SOURCES = [
  'base',
  'found',
  'tops',
  'plan',
  'marks',
  'tracks',
  'ahead',
  'logged',
  'now',
  'pin',
] as const
export type SourceName = (typeof SOURCES)[number]

/** Where words give way to marks alone. */
const WORDS_FROM = 14.6
export const NAMES_FROM = 15.8 // lures: nearer, they stand clear of the boat

/** The style: nothing of it is fetched, words and marks are drawn here. */
export function styleOf(shade: Shade): StyleSpecification {
  const c = PALETTES[shade]
  const depths = c.water.flatMap((colour, k) => [k / (c.water.length - 1), colour])
  const line = ['case', ['<', ['get', 'share'], 0.5], c.shallowLine, c.deepLine]
  const chosen = ['boolean', ['get', 'chosen'], false]
  const dim = ['case', chosen, 1, 0.75]
  const layers = [
    { id: 'land', type: 'background', paint: { 'background-color': c.land } },
    { id: 'water', type: 'fill', source: 'base', filter: is('water'), paint: { 'fill-color': c.water[0] } },
    {
      id: 'deeper',
      type: 'fill',
      source: 'base',
      filter: is('deeper'),
      layout: { 'fill-sort-key': ['get', 'share'] },
      paint: {
        'fill-color': ['interpolate', ['linear'], ['get', 'share'], ...depths],
        'fill-antialias': false,
      },
    },
    {
      id: 'contour',
      type: 'line',
      source: 'base',
      filter: is('contour'),
      layout: { 'line-join': 'round' },
      paint: {
        'line-color': line,
        'line-width': ['case', ['get', 'heavy'], 2, 1],
        'line-opacity': 0.85,
      },
    },
    {
      id: 'shore',
      type: 'line',
      source: 'base',
      filter: is('water'),
      paint: { 'line-color': c.shore, 'line-width': 2.5 },
    },
    {
      id: 'ground',
      type: 'line',
      source: 'found',
      filter: ['in', ['get', 'kind'], ['literal', ['hump', 'flat']]],
      paint: {
        'line-color': c.ink,
        'line-width': 2,
        'line-dasharray': ['match', ['get', 'kind'], 'hump', ['literal', [1, 1.5]], ['literal', [5, 2]]],
      },
    },
    {
      id: 'edge-halo',
      type: 'line',
      source: 'found',
      filter: is('edge'),
      layout: { 'line-cap': 'round', 'line-join': 'round' },
      paint: { 'line-color': c.edgeHalo, 'line-width': 6.5, 'line-opacity': 0.9 },
    },
    {
      id: 'edge',
      type: 'line',
      source: 'found',
      filter: is('edge'),
      layout: { 'line-cap': 'round', 'line-join': 'round' },
      paint: { 'line-color': c.edge, 'line-width': 3.5 },
    },
    {
      id: 'depth-words',
      type: 'symbol',
      source: 'base',
      filter: is('contour'),
      layout: {
        'symbol-placement': 'line',
        'symbol-spacing': 210,
        'icon-image': ['concat', 'depth:', ['to-string', ['get', 'shown']]],
        'icon-rotation-alignment': 'map',
        'icon-keep-upright': true,
        'icon-padding': 3,
      },
    },
    // the plan: the edge the lure follows, the boat's way, the way round
    {
      id: 'round',
      type: 'line',
      source: 'plan',
      filter: is('round'),
      paint: { 'line-color': c.ink, 'line-width': 2, 'line-dasharray': [1, 2.2], 'line-opacity': dim },
    },
    {
      id: 'lure-way-halo',
      type: 'line',
      source: 'plan',
      filter: is('lure'),
      layout: { 'line-cap': 'butt', 'line-join': 'round' },
      paint: { 'line-color': c.wayHalo, 'line-width': ['case', chosen, 10, 6], 'line-opacity': dim },
    },
    {
      id: 'lure-way',
      type: 'line',
      source: 'plan',
      filter: is('lure'),
      layout: { 'line-cap': 'butt', 'line-join': 'round' },
      paint: { 'line-color': c.way, 'line-width': ['case', chosen, 6, 3], 'line-opacity': dim },
    },
    {
      id: 'boat-way-halo',
      type: 'line',
      source: 'plan',
      filter: is('boat'),
      layout: { 'line-join': 'round' },
      paint: { 'line-color': c.halo, 'line-width': ['case', chosen, 5, 3.5], 'line-opacity': dim },
    },
    {
      id: 'boat-way',
      type: 'line',
      source: 'plan',
      filter: is('boat'),
      layout: { 'line-join': 'round' },
      paint: {
        'line-color': c.ink,
        'line-width': ['case', chosen, 2.5, 1.5],
        'line-dasharray': [4, 1.6],
        'line-opacity': dim,
      },
    },
    {
      id: 'way-arrows',
      type: 'symbol',
      source: 'plan',
      filter: is('boat'),
      layout: {
        'symbol-placement': 'line',
        'symbol-spacing': 110,
        'icon-image': 'mark:arrow',
        'icon-rotation-alignment': 'map',
        'icon-keep-upright': false,
        'icon-allow-overlap': true,
        'icon-size': ['case', chosen, 1, 0.7],
      },
    },
    // what the crew sees move
    {
      id: 'track-halo',
      type: 'line',
      source: 'tracks',
      layout: { 'line-cap': 'round', 'line-join': 'round' },
      paint: { 'line-color': c.lureHalo, 'line-width': 4.5, 'line-opacity': 0.7 },
    },
    {
      id: 'track',
      type: 'line',
      source: 'tracks',
      layout: { 'line-cap': 'round', 'line-join': 'round' },
      paint: {
        'line-color': ['case', is('boat'), c.boat, ['to-color', ['get', 'ink'], c.boat]],
        'line-width': ['case', is('boat'), 1.5, 2.5],
      },
    },
    {
      id: 'ahead',
      type: 'line',
      source: 'ahead',
      layout: { 'line-cap': 'round' },
      paint: {
        'line-color': ['to-color', ['get', 'ink'], c.boat],
        'line-width': 3.5,
        'line-dasharray': [0.1, 2],
      },
    },
    // words and marks, the more pressing later: what comes later is drawn over the rest
    {
      id: 'edge-words',
      type: 'symbol',
      source: 'tops',
      filter: is('edge'),
      minzoom: WORDS_FROM - 1,
      layout: {
        'icon-image': ['concat', 'edge:', ['to-string', ['get', 'rank']]],
        'icon-offset': [0, -18],
      },
    },
    {
      id: 'found-words',
      type: 'symbol',
      source: 'tops',
      filter: ['!=', ['get', 'kind'], 'edge'],
      layout: {
        'icon-image': [
          'step',
          ['zoom'],
          ['concat', 'mark:', ['get', 'kind']],
          WORDS_FROM,
          ['concat', 'word:', ['get', 'kind']],
        ],
        'icon-padding': 1,
      },
    },
    {
      id: 'logged',
      type: 'symbol',
      source: 'logged',
      layout: {
        'icon-image': ['get', 'image'],
        'icon-allow-overlap': true,
        'symbol-sort-key': ['get', 'rank'],
      },
    },
    {
      id: 'todo-words',
      type: 'symbol',
      source: 'marks',
      filter: ['!=', ['get', 'kind'], 'number'],
      layout: { 'icon-image': ['get', 'image'], 'icon-anchor': 'left', 'icon-padding': 2 },
    },
    {
      id: 'numbers',
      type: 'symbol',
      source: 'marks',
      filter: is('number'),
      layout: { 'icon-image': ['get', 'image'], 'icon-allow-overlap': true },
    },
    {
      id: 'lures',
      type: 'symbol',
      source: 'now',
      filter: is('lure'),
      layout: { 'icon-image': ['get', 'image'], 'icon-allow-overlap': true },
    },
    {
      id: 'boat',
      type: 'symbol',
      source: 'now',
      filter: is('boat'),
      layout: {
        'icon-image': ['get', 'image'],
        'icon-rotate': ['get', 'course'],
        'icon-rotation-alignment': 'map',
        'icon-allow-overlap': true,
        'icon-ignore-placement': true,
      },
    },
    {
      id: 'lure-names',
      type: 'symbol',
      source: 'now',
      filter: is('name'),
      minzoom: NAMES_FROM,
      layout: {
        'icon-image': ['get', 'image'],
        'icon-offset': ['get', 'offset'],
        'icon-allow-overlap': true,
        'icon-ignore-placement': true,
      },
    },
    {
      id: 'pin',
      type: 'symbol',
      source: 'pin',
      layout: {
        'icon-image': 'mark:pin',
        'icon-anchor': 'bottom',
        'icon-allow-overlap': true,
        'icon-ignore-placement': true,
      },
    },
  ]
  return {
    version: 8,
    sources: Object.fromEntries(
      SOURCES.map((name) => [name, { type: 'geojson', data: EMPTY, tolerance: name === 'base' ? 0.3 : 0.2 }]),
    ),
    layers: layers as unknown as LayerSpecification[],
  }
}
