import { mount } from 'svelte'
import App from './App.svelte'
import './look/tokens.css'
import './look/base.css'

const target = document.getElementById('app')
if (!target) throw new Error('no #app in the page')
mount(App, { target })
