//! Plain text tables and paragraphs for a terminal or a note on the garage wall.

use unicode_width::UnicodeWidthStr;

/// How a column lines up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Whole numbers.
    Right,
    /// Numbers with decimals: their points stand under each other; words among them start where the column does.
    Point,
}

/// A table without lines: columns two spaces apart, heads above.
#[derive(Clone, Debug)]
pub struct Table {
    heads: Vec<String>,
    aligns: Vec<Align>,
    rows: Vec<Vec<String>>,
}

/// Words longer than this are cut.
const WIDEST: usize = 44;
/// A name cut shorter than this says nothing.
const LEAST: usize = 6;
/// Columns of a paragraph.
pub const COLUMNS: usize = 80;

impl Table {
    /// With these columns; where all heads are empty, none are printed.
    pub fn new(columns: &[(&str, Align)]) -> Table {
        let heads = columns.iter().map(|(head, _)| (*head).to_owned()).collect();
        Table { heads, aligns: columns.iter().map(|(_, align)| *align).collect(), rows: Vec::new() }
    }

    /// Adds a row; missing cells are empty, and cells beyond the last column are left out.
    pub fn row<S: AsRef<str>>(&mut self, cells: &[S]) {
        let cell = |i: usize| cells.get(i).map_or_else(String::new, |c| cut(&printable(c.as_ref()), WIDEST));
        self.rows.push((0..self.heads.len()).map(cell).collect());
    }

    /// Its columns and rows, to be set otherwise than as text.
    pub fn parts(&self) -> (impl Iterator<Item = (&str, Align)>, &[Vec<String>]) {
        (self.heads.iter().map(String::as_str).zip(self.aligns.iter().copied()), &self.rows)
    }

    /// The table as text, each line behind `indent` spaces and ending in a line feed.
    pub fn text(&self, indent: usize) -> String {
        let columns: Vec<Vec<String>> = (0..self.heads.len()).map(|i| self.column(i)).collect();
        let headless = self.heads.iter().all(String::is_empty);
        let mut out = String::new();
        for k in usize::from(headless)..=self.rows.len() {
            let line: Vec<&str> = columns.iter().map(|c| c[k].as_str()).collect();
            out += format!("{:indent$}{}", "", line.join("  ")).trim_end();
            out.push('\n');
        }
        out
    }

    /// The table with its first rows only, and how many are left.
    pub fn first(mut self, most: usize) -> (Table, usize) {
        let left = self.rows.len().saturating_sub(most);
        self.rows.truncate(most);
        (self, left)
    }

    /// The same in no more than so many columns: names in the first column are cut where they must be.
    pub fn within(&self, columns: usize) -> String {
        let widest = |text: &str| text.lines().map(UnicodeWidthStr::width).max().unwrap_or(0);
        let text = self.text(0);
        let over = widest(&text).saturating_sub(columns);
        let first = self.column(0).first().map_or(0, |c| c.width());
        if over == 0 || first <= over + LEAST {
            return text;
        }
        let mut narrow = self.clone();
        narrow.heads[0] = cut(&narrow.heads[0], first - over);
        narrow.rows.iter_mut().for_each(|row| row[0] = cut(&row[0], first - over));
        narrow.text(0)
    }

    /// The head and the cells of a column, all of one width.
    fn column(&self, i: usize) -> Vec<String> {
        let cells: Vec<&str> = self.rows.iter().map(|r| r[i].as_str()).collect();
        let most = cells.iter().filter_map(|c| whole(c)).max().unwrap_or(0);
        let to_point = |c: &str| format!("{}{c}", " ".repeat(whole(c).map_or(0, |w| most - w)));
        let align = self.aligns[i];
        let cells = cells.into_iter().map(|c| if align == Align::Point { to_point(c) } else { c.to_owned() });
        let all: Vec<String> = [self.heads[i].clone()].into_iter().chain(cells).collect();
        let width = all.iter().map(|c| c.width()).max().unwrap_or(0);
        let set = |c: &String| {
            let space = " ".repeat(width - c.width());
            if align == Align::Right { format!("{space}{c}") } else { format!("{c}{space}") }
        };
        all.iter().map(set).collect()
    }
}

/// Width before a number's decimal point; none for words.
fn whole(cell: &str) -> Option<usize> {
    let number = cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-'));
    number.then(|| cell.find(['.', ' ']).unwrap_or(cell.width()))
}

/// The text on one line without control characters, so that no name can move a terminal's cursor.
pub fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn cut(text: &str, most: usize) -> String {
    if text.width() <= most {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.iter().collect::<String>().width() >= most {
        kept.pop();
    }
    format!("{}…", kept.iter().collect::<String>().trim_end())
}

/// A paragraph in lines of at most [`COLUMNS`], a line feed behind each.
pub fn paragraph(text: &str) -> String {
    lines(text, COLUMNS).into_iter().map(|line| line + "\n").collect()
}

/// Facts in two columns, what and how much; long ones go on under their own beginning.
pub fn facts(pairs: &[(&str, String)]) -> String {
    let width = pairs.iter().map(|(what, _)| what.width()).max().unwrap_or(0);
    let mut out = String::new();
    for (what, fact) in pairs {
        for (i, line) in lines(&printable(fact), COLUMNS - width - 2).into_iter().enumerate() {
            out += &format!(
                "{}{}  {line}\n",
                if i == 0 { what } else { "" },
                " ".repeat(width - if i == 0 { what.width() } else { 0 })
            );
        }
    }
    out
}

fn lines(text: &str, columns: usize) -> Vec<String> {
    let mut out = Vec::new();
    let mut line = String::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.next() {
        // A per cent sign stays with its number.
        let more = words.peek().is_some_and(|next| next.starts_with('%'));
        let width = word.width() + if more { 3 } else { 0 };
        if !line.is_empty() && line.width() + 1 + width > columns && !word.starts_with('%') {
            out.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line += word;
    }
    out.push(line);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_points_stand_under_each_other() {
        let mut t = Table::new(&[("place", Align::Left), ("x mm", Align::Right), ("s a lap", Align::Point)]);
        t.row(&["front bumper", "-620", "+0.0231 ± 0.0012"]);
        t.row(&["boot", "3100", "-12.5"]);
        t.row(&["nowhere", "", "no difference"]);
        let want = [
            "  place         x mm  s a lap",
            "  front bumper  -620   +0.0231 ± 0.0012",
            "  boot          3100  -12.5",
            "  nowhere             no difference",
        ];
        assert_eq!(t.text(2).lines().collect::<Vec<_>>(), want);
    }

    #[test]
    fn closed_form_facts_hang() {
        let text = facts(&[("time", "1:23".to_owned()), ("ruled by", "word ".repeat(20))]);
        let long = "word ".repeat(14);
        assert_eq!(
            text,
            format!("time      1:23\nruled by  {}\n          word word word word word word\n", long.trim_end())
        );
    }

    #[test]
    fn property_no_heads_no_head_line() {
        let mut t = Table::new(&[("", Align::Left), ("", Align::Right)]);
        t.row(&["a", "1"]);
        t.row(&["bcd"]);
        assert_eq!(t.text(0), "a    1\nbcd\n");
    }

    #[test]
    fn bad_input_names_can_not_break_a_table() {
        let mut t = Table::new(&[("a", Align::Left), ("b", Align::Right)]);
        t.row(&["line\nfeed\u{1b}[31m", "1"]);
        t.row(&["x".repeat(500).as_str(), "2"]);
        t.row(&["日本", "3", "too many"]);
        let text = t.text(0);
        assert_eq!(text.lines().count(), 4);
        assert!(!text.contains('\u{1b}') && text.lines().all(|l| l.width() <= WIDEST + 4));
        let widths: Vec<_> = text.lines().map(|l| l.width()).collect();
        assert!(widths.windows(2).all(|w| w[0] == w[1]), "{text}");
    }

    #[test]
    fn closed_form_names_are_cut_to_the_width() {
        let mut t = Table::new(&[("what", Align::Left), ("s", Align::Point)]);
        t.row(&["a name of thirty letters, about", "0.25"]);
        t.row(&["short", "0.5"]);
        assert_eq!(t.within(80), t.text(0));
        let cut = t.within(20);
        assert!(cut.lines().all(|l| l.width() <= 20) && cut.contains('…') && cut.contains("0.25"), "{cut}");
        // Where nothing sensible would be left, it stays.
        assert_eq!(t.within(8), t.text(0));
    }

    #[test]
    fn property_paragraphs_keep_all_words_in_short_lines() {
        let text = "one two three ".repeat(40);
        let out = paragraph(&text);
        assert!(out.lines().all(|l| l.width() <= COLUMNS));
        assert_eq!(out.split_whitespace().collect::<Vec<_>>(), text.split_whitespace().collect::<Vec<_>>());
        assert_eq!(paragraph(""), "\n");
    }
}
