// A grid of boxes: which lies where, where a step leads, and how a block of values
// falls into it. Boxes of a face that is not in sight are left out.

// cellsOf returns the boxes in sight, row by row, heads included.
export function cellsOf(table) {
  return [...table.rows].map((row) => [...row.cells].map((cell) => [...cell.querySelectorAll("input")].find((box) => box.offsetParent !== null) ?? null));
}

// find returns the row and column of a box.
export function find(cells, box) {
  for (const [r, row] of cells.entries()) {
    const c = row.indexOf(box);
    if (c >= 0) return [r, c];
  }
  return null;
}

// move returns the box that a step leads to, or null at the edge. With wrap a step
// off the foot of a column leads to the head of the next.
export function move(cells, box, rows, cols, wrap = false) {
  const at = find(cells, box);
  if (!at) return null;
  let [r, c] = [at[0] + rows, at[1] + cols];
  if (wrap && (r >= cells.length || r < 0)) {
    c += r < 0 ? -1 : 1;
    const first = cells.findIndex((row) => row[c] && row[c].name.split(".").length === 3);
    r = r < 0 ? cells.length - 1 : first;
  }
  return cells[r]?.[c] ?? null;
}

// spread puts a block of values, rows by lines and columns by tabs, into the boxes
// from box on. It returns false, and changes nothing, where the block does not fit.
export function spread(cells, box, text) {
  const at = find(cells, box);
  if (!at) return false;
  const rows = text.replace(/\r\n?/g, "\n").replace(/\n+$/, "").split("\n").map((line) => line.split("\t"));
  const todo = [];
  for (const [i, row] of rows.entries()) {
    for (const [j, value] of row.entries()) {
      const into = cells[at[0] + i]?.[at[1] + j];
      if (!into) return false;
      todo.push([into, value.trim()]);
    }
  }
  for (const [into, value] of todo) into.value = value;
  return true;
}
