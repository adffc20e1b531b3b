export * from './units.svelte'
