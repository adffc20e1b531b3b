import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'
import { VitePWA } from 'vite-plugin-pwa'

// The pages are built into the Python package, which serves them; nothing comes from elsewhere.
export default defineConfig({
  base: './', // a static host may have it in a folder of its own
  worker: { format: 'es' },
  plugins: [
    svelte(),
    VitePWA({
      // Put in place by hand (src/lib/update.svelte.ts): a new version waits until the crew takes it.
      injectRegister: false,
      registerType: 'prompt',
      manifest: {
        name: 'towscope',
        short_name: 'towscope',
        description: 'Where each lure runs, and what to change',
        lang: 'en',
        start_url: './',
        scope: './',
        display: 'standalone',
        background_color: '#0e2230',
        theme_color: '#0e2230',
        icons: [
          { src: 'icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' },
          { src: 'icon-192.png', sizes: '192x192', type: 'image/png', purpose: 'any' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'any' },
          { src: 'icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
        ],
      },
      workbox: {
        globPatterns: ['**/*.{js,css,html,svg,png,wasm,bin,webmanifest}', 'tackle.json'],
        maximumFileSizeToCacheInBytes: 4_000_000,
        navigateFallback: 'index.html',
        navigateFallbackDenylist: [/^\/(api|pair)(\/|\?|$)/],
        cleanupOutdatedCaches: true,
        clientsClaim: true, // the very first page is kept too, without being opened twice
        sourcemap: false,
      },
    }),
  ],
  build: {
    outDir: process.env.TOWSCOPE_PAGES ?? '../src/towscope/web/pages',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0, // a strict content-security policy takes no data: addresses
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1500,
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8000' } },
})
