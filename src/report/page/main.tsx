// The page: reads the data that stand in it and shows them.
import { render } from 'preact';
import { App } from './app.tsx';
import { readReport } from './read.ts';
import './styles/base.css';
import './styles/verdict.css';
import './styles/chart.css';
import './styles/sequence.css';
import './styles/print.css';

const report = readReport();
document.title = `${report.title} · handfast report`;
render(<App report={report} />, document.getElementById('page')!);
