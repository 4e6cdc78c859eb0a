//! What sections are made of: figures and tables.

use maud::{Markup, PreEscaped, html};

use crate::draw::picture::Drawn;
use crate::words::sure::unknown::named;
use crate::words::table::{self, Align};

/// A picture in the page, drawn for a desk and for a phone, under its title.
pub fn figure(drawn: &Drawn, caption: &str) -> Markup {
    html! { figure { p.finding { (drawn.broad.title) } (beneath(drawn, caption)) } }
}

/// Without its title, which is said above.
pub fn untitled(drawn: &Drawn, caption: &str) -> Markup {
    html! { figure { (beneath(drawn, caption)) } }
}

fn beneath(drawn: &Drawn, caption: &str) -> Markup {
    html! {
        @if !drawn.broad.about.is_empty() { p.about { (drawn.broad.about) } }
        (svgs(drawn))
        @if !caption.is_empty() { figcaption { (caption) } }
    }
}

/// The picture alone, where its title is said already.
pub fn bare(drawn: &Drawn) -> Markup {
    html! { figure.bare { (svgs(drawn)) } }
}

fn svgs(drawn: &Drawn) -> Markup {
    html! { (PreEscaped(drawn.broad.inline("broad"))) (PreEscaped(drawn.narrow.inline("narrow"))) }
}

/// What a terminal's reader may be told and a page's reader need not be: columns, options, tables of a file.
const PLAIN: [(&str, &str); 6] = [
    (
        "car.toml has no limits.roll_stiffness_front_share_least and _most (nor limits.brake_front_share_least and _most), between \
         which the front shares would be set again",
        "the car's file gives no range within which the front shares of roll stiffness and brakes may be set",
    ),
    ("car.toml", "the car's file"),
    (": take more --samples", ""),
    (" unless its `becomes` names the car file that has it", " unless the row names the car file that has it"),
    ("is marked `one_of` in the ledger", "is marked so in the ledger"),
    (" (--apart KEY takes a shared one apart.)", ""),
];

/// A sentence as a terminal has it: commands in it set as code, options left out, keys of files by what people call them, minus
/// signs as in print.
pub fn said(text: &str) -> Markup {
    let mut text = PLAIN.iter().fold(minus(text), |text, (from, to)| text.replace(from, to));
    while let Some(from) = text.find(" (--") {
        let Some(to) = text[from..].find(')') else { break };
        text.replace_range(from..=from + to, "");
    }
    html! {
        @for (i, part) in text.split('`').enumerate() {
            @if i % 2 == 1 { code { (part) } } @else { (by_name(part)) }
        }
    }
}

/// Keys by their names; the key itself is what a pointer over it shows.
fn by_name(text: &str) -> Markup {
    let is_of_key = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '.';
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(from) = rest.find(is_of_key) {
        let word = rest[from..].split(|c| !is_of_key(c)).next().unwrap_or_default();
        let key = word.trim_end_matches('.');
        if let Some(name) = named(key) {
            pieces.push((&rest[..from], key, name));
            rest = &rest[from + key.len()..];
        } else {
            pieces.push((&rest[..from + word.len()], "", ""));
            rest = &rest[from + word.len()..];
        }
    }
    html! {
        @for (before, key, name) in pieces {
            (before)
            @if !key.is_empty() { span title=(key) { (name) } }
        }
        (rest)
    }
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    text: String,
    value: Option<f64>,
    title: Option<String>,
}

impl Cell {
    /// With what a pointer shows over it: a key of a file.
    pub fn titled(self, title: impl Into<String>) -> Cell {
        Cell { title: Some(title.into()), ..self }
    }
}

/// A cell of words.
pub fn words(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), value: None, title: None }
}

/// A cell with a number that it is sorted by.
pub fn number(text: impl Into<String>, value: f64) -> Cell {
    Cell { text: text.into().replace('-', "−"), value: value.is_finite().then_some(value), title: None }
}

/// Words with the sign that minus has in print, before figures.
pub fn minus(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        // A per cent sign stays with its number.
        if c == ' ' && rest.peek() == Some(&'%') {
            out.push('\u{a0}');
            before = c;
            continue;
        }
        let sign = c == '-' && !before.is_alphanumeric() && rest.peek().is_some_and(char::is_ascii_digit);
        out.push(if sign { '−' } else { c });
        before = c;
    }
    out
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

    /// From a table of text: what is lined up by its decimal point are numbers.
    pub fn of(caption: &str, text: &table::Table) -> Table {
        let (heads, rows) = text.parts();
        let heads: Vec<(String, bool)> = heads.map(|(head, align)| (head.to_owned(), align != Align::Left)).collect();
        let cell =
            |(text, (_, numbers)): (&String, &(String, bool))| match text.split_whitespace().next().map(str::parse) {
                Some(Ok(value)) if *numbers => number(text.clone(), value),
                _ if text == "-" => words("–"),
                _ => words(minus(text)),
            };
        let rows = rows.iter().map(|row| row.iter().zip(&heads).map(cell).collect()).collect();
        Table { caption: caption.into(), heads, rows, sorts: true }
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
                    @if self.heads.iter().any(|(head, _)| !head.is_empty()) {
                        thead { tr { @for (i, (head, _)) in self.heads.iter().enumerate() {
                            // A cell that heads nothing is no header.
                            @if head.is_empty() { td {} } @else { th scope="col" class=[class(i)] { (head) } }
                        } } }
                    }
                    tbody { @for row in &self.rows { tr { @for (i, cell) in row.iter().enumerate() {
                        @if i == 0 { th scope="row" class=[class(0)] title=[&cell.title] { (cell.text) } }
                        @else { td class=[class(i)] data-value=[cell.value] title=[&cell.title] { (cell.text) } }
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
    fn closed_form_minus_before_figures_alone() {
        assert_eq!(
            minus("-0.3 s (90 %: -0.4 to -0.2), re-tuned, a-1, - 2"),
            "−0.3 s (90\u{a0}%: −0.4 to −0.2), re-tuned, a-1, - 2"
        );
    }

    #[test]
    fn closed_form_a_table_of_text_as_html() {
        let mut text = table::Table::new(&[("fuel, L", Align::Point), ("kg", Align::Left)]);
        text.row(&["-1.5", "1200 → 1190"]);
        let html = Table::of("Loads", &text).in_order().html().into_string();
        assert!(html.contains("<th scope=\"row\" class=\"n\">−1.5</th><td>1200 → 1190</td>"), "{html}");
    }

    #[test]
    fn closed_form_commands_in_a_sentence_are_code() {
        let html = said("-0.3 s: `unladen reset` says <why>.").into_string();
        assert_eq!(html, "−0.3 s: <code>unladen reset</code> says &lt;why&gt;.");
        let keys = said("It is aero.drag_area (62 %), mass.total. With 0.30 s (--lap-spread) more.").into_string();
        assert_eq!(
            keys,
            "It is <span title=\"aero.drag_area\">drag</span> (62\u{a0}%), <span title=\"mass.total\">the car's mass</span>. With 0.30 s more."
        );
    }

    #[test]
    fn closed_form_no_header_without_words() {
        let mut table = Table::new("Facts", &[("", false), ("kg", true)]);
        table.row(vec![words("a").titled("mass.total"), number("1", 1.0)]);
        let html = table.html().into_string();
        assert!(html.contains("<td></td><th scope=\"col\" class=\"n\">kg</th>"), "{html}");
        assert!(html.contains("<th scope=\"row\" title=\"mass.total\">a</th>"), "{html}");
        let bare = Table::new("Facts", &[("", false), ("", false)]).html().into_string();
        assert!(!bare.contains("<thead"), "{bare}");
    }

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
