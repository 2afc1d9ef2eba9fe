// Findings and edits: rows that hold all the words typed, and for findings the kinds that are ticked.

function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

export function addFilters() {
  for (const table of document.querySelectorAll('table.filterable')) {
    const rows = [...table.tBodies[0].rows];
    const what = table.closest('section').id;
    const search = element('input', {type: 'search', placeholder: 'words or a line number'});
    const count = element('span', {className: 'count'});
    count.setAttribute('aria-live', 'polite');
    const kinds = [...new Set(rows.map(row => row.cells[0].textContent))];
    const ticks = kinds.map(kind => {
      const box = element('input', {type: 'checkbox', checked: true, value: kind});
      return {box, label: element('label', {}, box, ' ' + kind)};
    });
    const apply = () => {
      const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      const wanted = new Set(ticks.filter(tick => tick.box.checked).map(tick => tick.box.value));
      let shown = 0;
      for (const row of rows) {
        const text = row.textContent.toLowerCase();
        row.hidden = !wanted.has(row.cells[0].textContent) || !words.every(word => text.includes(word));
        if (!row.hidden) ++shown;
      }
      count.textContent = `${shown} of ${rows.length} rows`;
    };
    const bar = element('div', {className: 'filter interactive'}, element('label', {}, 'find in ' + what + ' ', search),
      ...ticks.map(tick => tick.label), count);
    bar.addEventListener('input', apply);
    table.closest('.scroll').before(bar);
    apply();
  }
}
