//! What becomes of a value of a file that `--set` replaces or shifts: a shift and a factor go by what stands there, and
//! whatever states no ± of its own is as uncertain as that was.

use crate::fault::SetProblem;
use crate::keys::{Key, Kind, Need, Span};
use crate::measured::{self, Measured, digits};
use crate::toml_file::tree::{Item, Node};
use crate::toml_file::typed::assumed;
use crate::unit::{Dimension, Unit};

/// How a value is changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum How {
    /// `=`
    To,
    /// `+=`
    Plus,
    /// `-=`
    Minus,
    /// `*=`
    Times,
}

/// A value in SI with the unit that it was written in.
type Read = (Measured, &'static Unit);

/// The node that stands there afterwards.
pub(crate) fn changed(key: &Key, old: Option<&Node>, how: How, new: &Node) -> Result<Node, SetProblem> {
    if how == How::To {
        return Ok(replaced(key, old, new));
    }
    if new.states_sd() {
        return Err(SetProblem::UncertainShift);
    }
    match old {
        Some(old) => shifted(key, &old.item, how, new),
        None => match key.need {
            Need::Else(value) | Need::When(_, _, value) => shifted(key, &Item::Number(value), how, new),
            // The one position of a weighing that may be left out.
            _ if key.path == "mass.cg_y" => shifted(key, &Item::Text("0 mm".into()), how, new),
            _ => Err(SetProblem::NothingToShift),
        },
    }
}

/// What is known of how a number is written at a key, alone or within a list.
fn span(key: &Key) -> Option<Span> {
    match key.kind {
        Kind::Quantity(span) | Kind::List(span) | Kind::Pairs(_, span) => Some(span),
        _ => None,
    }
}

fn read(span: &Span, item: &Item) -> Option<Read> {
    match item {
        Item::Text(text) => {
            let value = assumed(text).map_or(text.as_str(), |(value, _)| value);
            measured::parse(value, span.unit().dimension, span.unit).ok()
        }
        Item::Number(x) => Some((Measured { value: span.unit().to_si(*x), sd: 0.0 }, span.unit())),
        Item::Measured(m) => Some((*m, span.unit())),
        _ => None,
    }
}

/// The new value with the ± of the old one, where it has none of its own; a list entry by entry.
fn replaced(key: &Key, old: Option<&Node>, new: &Node) -> Node {
    let (Some(old), Some(span)) = (old, span(key)) else { return new.clone() };
    if let (Item::List(from), Item::List(to)) = (&old.item, &new.item)
        && from.len() == to.len()
    {
        let list = from.iter().zip(to).map(|(old, new)| replaced(key, Some(old), new)).collect();
        return Node { item: Item::List(list), ..new.clone() };
    }
    // Of a pair its second number is meant.
    if let (Kind::Pairs(..), Item::List(pair), Item::Text(_) | Item::Number(_)) = (key.kind, &old.item, &new.item)
        && let [first, second] = &pair[..]
        && !matches!(second.item, Item::List(_))
    {
        let list = vec![first.clone(), replaced(key, Some(second), new)];
        return Node { item: Item::List(list), ..new.clone() };
    }
    match (read(&span, &old.item), read(&span, &new.item)) {
        (Some((old, _)), Some((to, _))) if old.sd > 0.0 && !new.states_sd() && bare(&span, &new.item) => {
            Node { item: Item::Measured(Measured { sd: old.sd, ..to }), ..new.clone() }
        }
        _ => new.clone(),
    }
}

/// A bare number stands only where no unit is due; elsewhere the reader says so.
fn bare(span: &Span, item: &Item) -> bool {
    !matches!(item, Item::Number(_)) || span.unit().dimension == Dimension::Pure
}

fn shifted(key: &Key, old: &Item, how: How, new: &Node) -> Result<Node, SetProblem> {
    let Some(span) = span(key) else { return Err(SetProblem::NoNumber) };
    if let Item::List(list) = old {
        let pairs = matches!(key.kind, Kind::Pairs(..)) && list.iter().all(|n| !matches!(n.item, Item::List(_)));
        let of = |(i, node): (usize, &Node)| match pairs && i == 0 {
            true => Ok(node.clone()),
            false => shifted(key, &node.item, how, new),
        };
        let list = list.iter().enumerate().map(of).collect::<Result<_, _>>()?;
        return Ok(Node { item: Item::List(list), ..new.clone() });
    }
    let Some((from, unit)) = read(&span, old) else { return Err(SetProblem::NothingToShift) };
    let due = if how == How::Times { Dimension::Pure } else { span.unit().dimension };
    let by = match &new.item {
        Item::Text(text) => measured::parse(text, due, if how == How::Times { "" } else { span.unit }),
        Item::Number(x) if due == Dimension::Pure => measured::parse(&x.to_string(), due, ""),
        Item::Number(x) => return Err(SetProblem::Unit { example: format!("{}{}", digits(*x), span.unit) }),
        _ => return Err(SetProblem::NoNumber),
    };
    let (by, by_unit) = by.map_err(|(_, wrong)| SetProblem::Value { wrong: Box::new(wrong) })?;
    // In the unit that the file has: 492 mm and 30 mm are 522 mm to the last bit.
    let tidy = |x: f64| digits(x).parse().unwrap_or(x);
    let there = unit.from_si(from.value);
    let step = unit.difference_from_si(by_unit.difference_to_si(by_unit.from_si(by.value)));
    let (value, sd) = match how {
        How::Times => (there * by.value, from.sd * by.value.abs()),
        How::Minus => (there - step, from.sd),
        How::Plus | How::To => (there + step, from.sd),
    };
    Ok(Node { item: Item::Measured(Measured { value: unit.to_si(tidy(value)), sd }), ..new.clone() })
}

#[cfg(test)]
mod tests {
    use crate::fault::finding::Faults;
    use crate::fault::source::Source;
    use crate::keys::car::CAR;
    use crate::toml_file::set::Overrides;
    use crate::toml_file::tree;
    use crate::toml_file::typed::{self, Values};

    const FILE: &str = "mass.cg_height = \"492 ± 15 mm\"\ntyres.front.peak_friction_lat = \"1.18 ± 0.05\"\n\
        driveline.gears = [3.4, \"2.2 ± 0.1\"]\nengine.torque = [[\"1500 rpm\", \"190 Nm\"], [\"4000 rpm\", \"310 Nm\"]]\n\
        [fuel]\nas_weighed = \"20 L\"\n";

    fn with(sets: &[&str]) -> (Values, Vec<String>) {
        let mut faults = Faults::default();
        let mut root = tree::document(&Source::new("car.toml", FILE), &mut faults);
        Overrides::parse(sets).unwrap().apply(CAR, &mut root, &mut faults);
        let mut own = Faults::default();
        let values = typed::read(&root, CAR, &mut own);
        (values, faults.result().err().map_or(vec![], |e| e.faults.iter().map(ToString::to_string).collect()))
    }

    fn si(values: &Values, key: &str) -> (f64, f64) {
        values.quantity(key).map(|m| (m.value, m.sd)).unwrap()
    }

    #[test]
    fn closed_form_shifts_and_factors_keep_what_is_uncertain() {
        let (v, faults) = with(&[
            "mass.cg_height+=30mm",
            "mass.cg_height -= 1 in",
            "tyres.front.peak_friction_lat*=1.05",
            "driver.use_cornering*=98%",
            "fuel.on_track+=10L",
            "driveline.gears[1]*=0.5",
            "engine.torque*=1.1",
            "engine.torque[1]+=9Nm",
        ]);
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!(si(&v, "mass.cg_height"), (496.6 / 1000.0, 0.015));
        let (mu, sd) = si(&v, "tyres.front.peak_friction_lat");
        assert!((mu - 1.239).abs() < 1e-15 && (sd - 0.0525).abs() < 1e-15);
        assert_eq!((si(&v, "driver.use_cornering"), si(&v, "fuel.on_track").0), ((0.98, 0.0), 0.03));
        let gear = v.list("driveline.gears").unwrap()[1];
        assert!((gear.value, gear.sd) == (1.1, 0.05) && v.list("driveline.gears").unwrap()[0].value == 3.4);
        let torque: Vec<f64> = v.pairs("engine.torque").unwrap().iter().map(|(_, t)| t.value).collect();
        assert_eq!(torque, [209.0, 350.0]);
    }

    /// Typed out and shifted it is the same number.
    #[test]
    fn closed_form_a_value_keeps_the_files_doubt_unless_it_states_its_own() {
        let (v, _) = with(&["mass.cg_height=522mm", "tyres.front.peak_friction_lat=1.2", "driveline.gears[1]=2.1"]);
        assert_eq!(si(&v, "mass.cg_height"), si(&with(&["mass.cg_height+=30mm"]).0, "mass.cg_height"));
        assert_eq!(si(&v, "tyres.front.peak_friction_lat"), (1.2, 0.05));
        assert_eq!(v.list("driveline.gears").unwrap()[1].sd, 0.1);
        let (v, _) = with(&["mass.cg_height=522 ± 2 mm", "tyres.front.peak_friction_lat=1.2 ± 0"]);
        assert_eq!((si(&v, "mass.cg_height").1, si(&v, "tyres.front.peak_friction_lat").1), (0.002, 0.0));
    }

    #[test]
    fn bad_input_what_no_shift_can_be() {
        for (set, said) in [
            ("mass.cg_height+=30", "a unit is due"),
            ("mass.cg_height+=3kg", "a mass where a length is due"),
            ("mass.cg_height*=30mm", "a length where a pure number is due"),
            ("mass.cg_height+=30 ± 5 mm", "no ± of its own"),
            ("mass.total+=5kg", "nothing there"),
            ("driveline.layout+=x", "nothing there"),
            ("driveline.gears[7]*=2", "nothing there"),
        ] {
            let (_, faults) = with(&[set]);
            assert!(faults.len() == 1 && faults[0].contains(said), "{set}: {faults:?}");
        }
    }
}
