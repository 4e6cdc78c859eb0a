//! Words of a picture as outlines of the embedded typeface, for pixels: no font is looked for on the machine.

use std::fmt::Write;

use resvg::usvg::roxmltree::{Document, Error, Node};

use crate::draw::measure::font::Face;

/// The SVG with each of its texts as outlines.
///
/// # Errors
/// Where it is no XML.
pub fn outlined(svg: &str) -> Result<String, Error> {
    let doc = Document::parse(svg)?;
    let mut out = String::with_capacity(2 * svg.len());
    let mut from = 0;
    for text in doc.descendants().filter(|n| n.tag_name().name() == "text") {
        let range = text.range();
        out += &svg[from..range.start];
        out += &shapes(text);
        from = range.end;
    }
    out += &svg[from..];
    Ok(out)
}

fn shapes(text: Node) -> String {
    let number = |name: &str| text.attribute(name).and_then(|v| v.parse::<f64>().ok());
    let face = if text.attribute("font-weight").is_some() { Face::Semibold } else { Face::Regular };
    let (glyphs, width) = face.layout(text.text().unwrap_or_default());
    let start = match text.attribute("text-anchor") {
        Some("middle") => -0.5 * width,
        Some("end") => -width,
        _ => 0.0,
    };
    let mut paths = String::new();
    for (glyph, at) in glyphs {
        let outline = face.outline(glyph);
        if !outline.is_empty() {
            // Writing to a String can't fail.
            let _ = write!(paths, "<path transform=\"translate({:.2})\" d=\"{outline}\"/>", start + at);
        }
    }
    let scale = Face::scale(number("font-size").unwrap_or(0.0));
    let [x, y] = ["x", "y"].map(|name| number(name).unwrap_or(0.0));
    let turn = text.attribute("transform").unwrap_or_default();
    let place = format!("transform=\"{turn} translate({x} {y}) scale({scale:.5})\"");
    let fill = text.attribute("fill").unwrap_or_default();
    let halo = text.attribute("stroke").map_or_else(String::new, |paper| {
        let width = number("stroke-width").unwrap_or(0.0) / scale.max(1e-9);
        format!("<g fill=\"{paper}\" stroke=\"{paper}\" stroke-width=\"{width:.0}\" stroke-linejoin=\"round\" {place}>{paths}</g>")
    });
    format!("{halo}<g fill=\"{fill}\" {place}>{paths}</g>")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn closed_form_letters_become_shapes_where_they_stood() {
        let svg = "<svg><text x=\"10\" y=\"20\" font-size=\"10\" text-anchor=\"end\" fill=\"#112233\">A &amp; b</text><g/></svg>";
        let out = outlined(svg).unwrap();
        let doc = Document::parse(&out).unwrap();
        assert!(doc.descendants().all(|n| n.tag_name().name() != "text"));
        // Four letters, of which two are blank.
        assert_eq!(doc.descendants().filter(|n| n.has_tag_name("path")).count(), 3);
        assert!(
            out.contains("fill=\"#112233\" transform=\" translate(10 20) scale(0.01000)\"")
                && out.ends_with("<g/></svg>")
        );
        assert!(outlined("<svg").is_err());
    }
}
