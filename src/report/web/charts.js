// Charts with a readout under the pointer, in place of the still ones (which stay for printing).
import uPlot from 'uplot';

const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

const axis = label => ({
  label,
  stroke: () => colour('--soft'),
  grid: {stroke: () => colour('--grid'), width: 1},
  ticks: {stroke: () => colour('--grid'), width: 1},
  font: '12px system-ui, sans-serif',
  labelFont: '12px system-ui, sans-serif',
});

const fixed = (digits, unit) => (_, value) => (value == null ? '' : value.toFixed(digits) + unit);

function place(figure, options, values, label) {
  const holder = document.createElement('div');
  holder.className = 'interactive';
  holder.setAttribute('role', 'img');
  holder.setAttribute('aria-label', label);
  figure.prepend(holder);
  const width = () => Math.max(260, Math.min(700, figure.clientWidth));
  const chart = new uPlot({...options, width: width(), height: 300}, values, holder);
  new ResizeObserver(() => chart.width !== width() && chart.setSize({width: width(), height: 300})).observe(figure);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => chart.redraw(false));
}

const ascending = ({at, cusp}) => {
  const pairs = at.map((value, k) => [value, cusp[k]]).filter(pair => pair[1] > 0).sort((a, b) => a[0] - b[0]);
  return [pairs.map(pair => pair[0]), pairs.map(pair => pair[1])];
};

/// The largest of 1, 2, 5 times a power of ten that is not above the value.
function roundDown(value) {
  const decade = 10 ** Math.floor(Math.log10(value));
  return decade * [5, 2, 1].find(lead => lead * decade <= value * (1 + 1e-12));
}

function cuspChart(figure, pass) {
  const tables = [ascending(pass.before)];
  if (pass.after) tables.push(ascending(pass.after));
  const values = uPlot.join(tables);
  const all = tables.flatMap(table => table[1]).concat(pass.target_um ?? []);
  if (values[0].length < 2) return figure.classList.add('still');
  const high = Math.max(...all), low = Math.min(...all);
  const logarithmic = high / low > 8;
  const line = (label, name, dash) => ({
    label, stroke: () => colour(name), width: 2, dash, spanGaps: true, points: {show: true, size: 4},
    value: fixed(3, ' um'),
  });
  const series = [{label: pass.across ? 'across' : 'tip z', value: fixed(4, ' mm')},
    line(pass.after ? 'before' : 'as it is', '--before', [7, 3])];
  if (pass.after) series.push(line('after', '--after'));
  if (pass.target_um) {
    series.push({label: 'target', stroke: () => colour('--good'), width: 2, dash: [2, 4], points: {show: false},
      value: fixed(3, ' um')});
    values.push(values[0].map(() => pass.target_um));
  }
  place(figure, {
    series,
    scales: {x: {time: false, dir: pass.across ? 1 : -1},
      y: logarithmic ? {distr: 3, range: [roundDown(low), high * 1.15]} : {range: [0, high * 1.15]}},
    axes: [axis(pass.across ? 'place across the lines, mm' : 'height of the tip, mm (the cut goes to the right)'), {...axis(logarithmic ? 'cusp, um (logarithmic)' : 'cusp, um'), size: 64}],
  }, values, `Cusp against ${pass.across ? 'place' : 'depth'}, pass ${pass.index}`);
}

/// A stepped line along the cutting time; `seconds` tells where each value ends.
function alongTime(figure, seconds, values, {label, unit, digits, name}) {
  if (!seconds.length || !values.some(value => value > 0)) return figure.classList.add('still');
  const minutes = seconds[seconds.length - 1] > 300, divisor = minutes ? 60 : 1;
  place(figure, {
    series: [{label: 'cutting time', value: fixed(2, minutes ? ' min' : ' s')},
      {label, stroke: () => colour('--after'), width: 2, paths: uPlot.paths.stepped({align: -1}), points: {show: false},
        value: fixed(digits, ' ' + unit)}],
    scales: {x: {time: false}, y: {range: (_, __, high) => [0, high * 1.1]}},
    axes: [axis(minutes ? 'cutting time, min' : 'cutting time, s'), {...axis(`${label}, ${unit}`), size: 64}],
  }, [[0, ...seconds].map(value => value / divisor), [values[0], ...values]], name);
}

export function showCharts(data) {
  for (const figure of document.querySelectorAll('figure.chart')) {
    if (figure.dataset.chart === 'cusp') {
      const pass = data.passes.find(one => one.index === Number(figure.dataset.pass));
      if (pass) cuspChart(figure, pass);
    } else if (figure.dataset.chart === 'feed') {
      alongTime(figure, data.feeds.seconds, data.feeds.feed,
        {label: 'feed', unit: 'mm/min', digits: 0, name: 'Programmed feed along the cutting time'});
    } else if (figure.dataset.chart === 'chip') {
      alongTime(figure, data.feeds.seconds, data.feeds.chip,
        {label: 'chip', unit: 'mm per tooth', digits: 4, name: 'Chip load along the cutting time'});
    } else {
      figure.classList.add('still');
    }
  }
}
