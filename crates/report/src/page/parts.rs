//! What sections are made of: figures and tables.

use maud::{Markup, PreEscaped, html};

use crate::picture::Picture;

/// A picture in the page; `prefix` keeps its ids apart from those of others.
pub fn figure(picture: &Picture, prefix: &str, caption: &str) -> Markup {
    html! {
        figure {
            div.scroll tabindex="0" role="group" aria-label={ "Picture: " (picture.title) } {
                (PreEscaped(picture.inline(prefix)))
            }
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    }
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    text: String,
    value: Option<f64>,
}

/// A cell of words.
pub fn words(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), value: None }
}

/// A cell with a number that it is sorted by.
pub fn number(text: impl Into<String>, value: f64) -> Cell {
    Cell { text: text.into().replace('-', "−"), value: value.is_finite().then_some(value) }
}

/// A table; its columns can be sorted where scripts run.
#[derive(Clone, Debug)]
pub struct Table {
    caption: String,
    heads: Vec<(String, bool)>,
    rows: Vec<Vec<Cell>>,
    sorts: bool,
}

impl Table {
    /// With these columns, each of words or (`true`) of numbers.
    pub fn new(caption: &str, heads: &[(&str, bool)]) -> Table {
        let heads = heads.iter().map(|(head, numbers)| ((*head).to_owned(), *numbers)).collect();
        Table { caption: caption.into(), heads, rows: Vec::new(), sorts: true }
    }

    /// Its order says something: no sorting.
    pub fn in_order(self) -> Table {
        Table { sorts: false, ..self }
    }

    /// Adds a row; its first cell heads it.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    /// As HTML.
    pub fn html(&self) -> Markup {
        let class = |i: usize| self.heads.get(i).filter(|(_, numbers)| *numbers).map(|_| "n");
        html! {
            div.scroll tabindex="0" role="group" aria-label={ "Table: " (self.caption) } {
                table data-sort[self.sorts] {
                    caption { (self.caption) }
                    thead { tr { @for (i, (head, _)) in self.heads.iter().enumerate() {
                        th scope="col" class=[class(i)] { (head) }
                    } } }
                    tbody { @for row in &self.rows { tr { @for (i, cell) in row.iter().enumerate() {
                        @if i == 0 { th scope="row" { (cell.text) } }
                        @else { td class=[class(i)] data-value=[cell.value] { (cell.text) } }
                    } } } }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_a_table_as_html() {
        let mut table = Table::new("Masses", &[("item", false), ("kg", true)]);
        table.row(vec![words("<b>"), number("-4.5", -4.5)]);
        let html = table.html().into_string();
        assert!(
            html.contains("<th scope=\"row\">&lt;b&gt;</th><td class=\"n\" data-value=\"-4.5\">−4.5</td>"),
            "{html}"
        );
        assert!(html.contains("data-sort") && !table.in_order().html().into_string().contains("data-sort"));
        assert!(!number("x", f64::NAN).value.is_some_and(f64::is_nan));
    }
}
