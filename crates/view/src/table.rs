//! Plain-text tables whose figures line up.

/// Alignment of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Figures; every cell of a column has the same number of decimals, so points line up.
    Right,
}

/// A table to be set in a fixed-width face.
#[derive(Clone, Debug, Default)]
pub struct Table {
    columns: Vec<Align>,
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
enum Row {
    Cells(Vec<String>),
    Rule,
}

impl Table {
    /// A table with these columns.
    pub fn new(columns: &[Align]) -> Self {
        Self { columns: columns.to_vec(), rows: Vec::new() }
    }
    /// Adds a row; missing cells are empty, further ones are left out.
    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) -> &mut Self {
        let mut cells: Vec<String> = cells.into_iter().map(Into::into).collect();
        cells.resize(self.columns.len(), String::new());
        self.rows.push(Row::Cells(cells));
        self
    }
    /// Adds a line across the figures.
    pub fn rule(&mut self) -> &mut Self {
        self.rows.push(Row::Rule);
        self
    }
    /// Lines of text, each ending in a newline, indented by two.
    pub fn text(&self) -> String {
        let width = |s: &str| s.chars().count();
        let cells = || self.rows.iter().filter_map(|r| if let Row::Cells(c) = r { Some(c) } else { None });
        let widths: Vec<usize> =
            (0..self.columns.len()).map(|k| cells().map(|c| width(&c[k])).max().unwrap_or(0)).collect();
        let mut out = String::new();
        for row in &self.rows {
            let line = match row {
                Row::Rule => "─".repeat(widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1)),
                Row::Cells(cells) => {
                    let set = |k: usize| {
                        let pad = " ".repeat(widths[k] - width(&cells[k]));
                        match self.columns[k] {
                            Align::Left => format!("{}{pad}", cells[k]),
                            Align::Right => format!("{pad}{}", cells[k]),
                        }
                    };
                    (0..cells.len()).map(set).collect::<Vec<_>>().join("  ")
                }
            };
            out.push_str("  ");
            out.push_str(line.trim_end());
            out.push('\n');
        }
        out
    }
}

/// A row of text separated by commas, its newline included; cells are quoted where they need it (RFC 4180).
pub fn csv_row(cells: &[String]) -> String {
    let quoted = |text: &String| {
        if text.contains([',', '"', '\n', '\r']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.clone()
        }
    };
    cells.iter().map(quoted).collect::<Vec<_>>().join(",") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4180, 2.5 to 2.7: cells with commas, quotes or line breaks are quoted, quotes doubled.
    #[test]
    fn cells_are_quoted_where_they_need_it() {
        let cells = ["plain", "", "a,b", "say \"no\"", "two\nlines"].map(str::to_string);
        assert_eq!(csv_row(&cells), "plain,,\"a,b\",\"say \"\"no\"\"\",\"two\nlines\"\n");
    }
}
