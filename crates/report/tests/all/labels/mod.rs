//! Reads the texts of a picture and where they are.

use roxmltree::{Document, Node};
use unladen_report::draw::measure::font::Face;
use unladen_report::draw::picture::Picture;

/// A text on the page: its words, and its corners' least and greatest x and y.
#[derive(Debug)]
#[expect(dead_code, reason = "the words are for the message")]
struct Words {
    text: String,
    x: (f64, f64),
    y: (f64, f64),
}

fn words(node: Node) -> Words {
    let text = node.text().unwrap().to_owned();
    let number = |name: &str| node.attribute(name).map(|v| v.parse::<f64>().unwrap());
    let (at, size) = ([number("x").unwrap(), number("y").unwrap()], number("font-size").unwrap());
    let face = if node.attribute("font-weight").is_some() { Face::Semibold } else { Face::Regular };
    let wide = face.width(&text, size);
    assert!((number("textLength").unwrap() - wide).abs() < 0.051, "{text}");
    let start = match node.attribute("text-anchor") {
        Some("middle") => -0.5 * wide,
        Some("end") => -wide,
        _ => 0.0,
    };
    let along = (start, start + wide);
    // Capitals and figures; descenders may reach a little into the next line.
    let (up, down) = (0.66 * size, 0.12 * size);
    match node.attribute("transform") {
        None => Words { text, x: (at[0] + along.0, at[0] + along.1), y: (at[1] - up, at[1] + down) },
        Some(turn) => {
            assert!(turn.starts_with("rotate(-90 "), "{turn}");
            Words { text, x: (at[0] - up, at[0] + down), y: (at[1] - along.1, at[1] - along.0) }
        }
    }
}

/// Labels that lie over another or off the page.
pub fn faults(picture: &Picture) -> Vec<String> {
    faults_of(&[picture])
}

/// The same of pictures that lie upon one another.
pub fn faults_of(layers: &[&Picture]) -> Vec<String> {
    let of = |layer: &&Picture| -> Vec<Words> {
        let doc = Document::parse(&layer.svg).unwrap();
        doc.descendants().filter(|n| n.tag_name().name() == "text").map(words).collect()
    };
    let (all, picture): (Vec<Words>, &Picture) = (layers.iter().flat_map(of).collect(), layers[0]);
    let mut out = Vec::new();
    for (i, a) in all.iter().enumerate() {
        let inside = a.x.0 >= 2.0 && a.x.1 <= picture.width - 2.0 && a.y.0 >= 2.0 && a.y.1 <= picture.height - 2.0;
        if !inside {
            out.push(format!("{} px, {}: {a:?} is off the page", picture.width, picture.title));
        }
        for b in &all[..i] {
            let apart = a.x.0 >= b.x.1 || b.x.0 >= a.x.1 || a.y.0 >= b.y.1 || b.y.0 >= a.y.1;
            if !apart {
                out.push(format!("{} px, {}: {a:?} lies over {b:?}", picture.width, picture.title));
            }
        }
    }
    out
}

/// Asserts that there are none.
pub fn apart(picture: &Picture) {
    let faults = faults(picture);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
