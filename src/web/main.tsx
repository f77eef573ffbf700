import './without-eval.js';
import { createRoot } from 'react-dom/client';
import { themeCss } from '../report/index.js';
import { App } from './app.js';
import './style.css';

const theme = document.createElement('style');
theme.textContent = themeCss;
document.head.prepend(theme);

const root = document.getElementById('root');
if (root) createRoot(root).render(<App />);
