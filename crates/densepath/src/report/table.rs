//! Columns of text: the first is left-aligned, the others right-aligned.

/// Rows under a heading and a second line with the units.
pub(super) struct Table {
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with its heading and the line of units.
    pub fn new(heading: &[&str], units: &[&str]) -> Self {
        let line = |cells: &[&str]| cells.iter().map(|&cell| cell.to_owned()).collect();
        Self {
            rows: vec![line(heading), line(units)],
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table as text, indented by two spaces, with a rule under the units.
    pub fn render(&self) -> String {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(width).collect();
        let rule = "-".repeat(widths.iter().sum::<usize>() + 2 * columns.saturating_sub(1));
        let mut text = String::new();
        for (index, row) in self.rows.iter().enumerate() {
            text.push_str(&line(row, &widths));
            if index == 1 {
                text.push_str("  ");
                text.push_str(&rule);
                text.push('\n');
            }
        }
        text
    }
}

fn line(row: &[String], widths: &[usize]) -> String {
    let cells = row
        .iter()
        .zip(widths)
        .enumerate()
        .map(|(column, (cell, &width))| {
            if column == 0 {
                format!("{cell:<width$}")
            } else {
                format!("{cell:>width$}")
            }
        });
    format!("  {}\n", cells.collect::<Vec<_>>().join("  ").trim_end())
}
