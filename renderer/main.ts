import { mount } from 'svelte'
import App from './App.svelte'
import './theme/tokens.css'
import './theme/base.css'

const target = document.getElementById('app')
if (!target) throw new Error('index.html lacks #app')
mount(App, { target })
