export * from './job.svelte'
