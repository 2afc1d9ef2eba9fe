// The moving part of the report. Everything here adds to a page that is complete without it.
import {showCharts} from './charts.js';
import {addFilters} from './filter.js';
import {showPath} from './path.js';
import {showWays} from './ways.js';
import uplotStyle from 'uplot/dist/uPlot.min.css';
import style from './page.css';

const data = JSON.parse(document.getElementById('restep-data').textContent);
const sheet = document.createElement('style');
sheet.textContent = uplotStyle + style;
document.head.append(sheet);
document.documentElement.classList.add('scripted');

if (data.ways) {
  showWays(data);
} else {
  addFilters();
  showCharts(data);
  showPath(data);
}
