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

    /// The table as text, indented by two spaces, with a rule under the units: at most a width, as far as cells can be broken at words.
    pub fn render(&self, width: usize) -> String {
        let widths = self.widths(width);
        let rule = "-".repeat(whole(&widths));
        let mut text = String::new();
        for (index, row) in self.rows.iter().enumerate() {
            let cells: Vec<Vec<String>> = row
                .iter()
                .zip(&widths)
                .map(|(cell, &width)| broken(cell, width))
                .collect();
            let height = cells.iter().map(Vec::len).max().unwrap_or(0);
            for place in 0..height.max(1) {
                let part = |cell: &Vec<String>| cell.get(place).cloned().unwrap_or_default();
                let parts: Vec<String> = cells.iter().map(part).collect();
                text.push_str(&line(&parts, &widths));
            }
            if index == 1 {
                text.push_str("  ");
                text.push_str(&rule);
                text.push('\n');
            }
        }
        text
    }

    /// Widths of the columns: those of their cells, the widest of words broken where the table is too wide.
    fn widths(&self, width: usize) -> Vec<usize> {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let largest = |column: usize, of: fn(&str) -> usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| of(cell)).max().unwrap_or(0)
        };
        let mut widths: Vec<usize> = (0..columns).map(|column| largest(column, length)).collect();
        let least: Vec<usize> = (0..columns)
            .map(|column| largest(column, longest_word))
            .collect();
        while whole(&widths) + 2 > width {
            let breakable = widths.iter_mut().zip(&least);
            let widest = breakable
                .filter(|(width, least)| **width > **least)
                .max_by_key(|(width, _)| **width);
            let Some((widest, _)) = widest else {
                break;
            };
            *widest -= 1;
        }
        widths
    }
}

/// Width of a line without its indent.
fn whole(widths: &[usize]) -> usize {
    widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1)
}

fn length(cell: &str) -> usize {
    cell.chars().count()
}

fn longest_word(cell: &str) -> usize {
    cell.split(' ').map(length).max().unwrap_or(0)
}

/// A cell broken at words into lines of at most a width.
fn broken(cell: &str, width: usize) -> Vec<String> {
    if length(cell) <= width {
        return vec![cell.to_owned()];
    }
    let mut lines: Vec<String> = Vec::new();
    for word in cell.split(' ') {
        match lines.last_mut() {
            Some(line) if length(line) + 1 + length(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
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

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<&str> {
        let mut words: Vec<&str> = text.split_whitespace().collect();
        words.sort_unstable();
        words
    }

    #[test]
    fn a_wide_table_is_broken_at_words_and_loses_none() {
        let mut table = Table::new(&["part", "result", "value"], &["", "", "bar"]);
        table.row(vec![
            "flame ionisation detector".into(),
            "gas at the detector".into(),
            "0.61".into(),
        ]);
        table.row(vec!["pump".into(), "pressure".into(), "200".into()]);
        let wide = table.render(100);
        for width in [52, 40, 30] {
            let narrow = table.render(width);
            assert!(narrow.lines().all(|line| length(line) <= width), "{narrow}");
            let without_rule = |text: &str| text.replace('-', "");
            assert_eq!(words(&without_rule(&narrow)), words(&without_rule(&wide)));
        }
        // A word is never broken: the longest of each column, two gaps and the indent.
        let least = "ionisation".len() + "detector".len() + "value".len() + 6;
        assert_eq!(table.render(1).lines().map(length).max(), Some(least));
    }
}
