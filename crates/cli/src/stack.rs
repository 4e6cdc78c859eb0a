//! Pictures one above the other in one file.

use unladen_report::draw::picture::{Picture, PlotError};

/// All of them, from the top down; the first one's title is that of the whole.
pub fn stacked(pictures: Vec<Picture>) -> Result<Picture, PlotError> {
    let mut all = pictures.into_iter();
    let Some(first) = all.next() else { return Err(PlotError::Empty { what: "the list of pictures" }) };
    let rest: Vec<Picture> = all.collect();
    if rest.is_empty() {
        return Ok(first);
    }
    let mut whole = Picture { svg: String::new(), ..first.clone() };
    let mut body = own(&first, 0, 0.0);
    for (i, picture) in rest.iter().enumerate() {
        body += &own(picture, i + 1, whole.height);
        whole.height += picture.height;
        whole.width = whole.width.max(picture.width);
        whole.alt = format!("{} {}", whole.alt, picture.alt);
    }
    let (w, h) = (whole.width, whole.height);
    whole.svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{w}\" \
         height=\"{h}\" viewBox=\"0 0 {w} {h}\">\n{body}</svg>\n"
    );
    Ok(whole)
}

/// A picture at a height of the whole, its ids made different from those of the others.
fn own(picture: &Picture, i: usize, top: f64) -> String {
    picture.inline(&format!("p{i}-")).replacen("<svg ", &format!("<svg y=\"{top}\" "), 1)
}
