//! `unladen report`, its pictures, completions and manual pages, end to end. How pages look in a browser:
//! `tests/browser`.

use crate::common::{CAR, Folder, OPEN, TRACK, root, unladen};

const ROWS: &str = "100,0,0,0,0,0,0\n60,0.02,0.02,0,0,0,0\n100,0,0,0,0,0,0\n";
const MARKUP: &str = "<img src=x onerror=alert(1)> & \"co\"";

fn page(args: &[&str], folder: &Folder) -> String {
    let out = folder.path("page.html");
    let mut all = vec!["report"];
    all.extend(args);
    all.extend(["--out", &out]);
    let run = unladen(&all);
    assert_eq!(run.code, Some(0), "{}", run.err);
    assert_eq!(run.out, "");
    std::fs::read_to_string(out).unwrap()
}

/// The demo's car under another name, with this ledger.
fn car(folder: &Folder, name: &str, ledger: Option<&str>) -> String {
    let text = std::fs::read_to_string(root().join(CAR).join("car.toml")).unwrap();
    let named: Vec<String> =
        text.lines().map(|l| if l.starts_with("name ") { format!("name = {name:?}") } else { l.to_owned() }).collect();
    let file = folder.write("car.toml", named.join("\n"));
    if let Some(rows) = ledger {
        folder.write("ledger.csv", rows);
    }
    file
}

const HEAD: &str = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,source";

#[test]
fn end_to_end_a_page_holds_the_answer_and_how_to_make_it_again() {
    let folder = Folder::new();
    let page = page(&[CAR, TRACK, "tracks/valley.toml=2"], &folder);
    for heading in ["The answer", "What a kilogram is worth", "The mass budget", "What went in", "What it leaves out"] {
        assert!(page.contains(&format!(">{heading}</h2>")), "{heading}");
    }
    for words in [
        "unladen report vehicles/saloon-awd tracks/airfield.toml tracks/valley.toml=2 --out page.html",
        "33 % Airfield (invented), 67 % Valley (invented)",
        "Not modelled:",
        "closed track only",
        "chassis.roll_stiffness_front_share",
        "data-part=\"lens\"",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let hashes = page.split("<td>").filter(|cell| cell.find('<') == Some(64)).count();
    assert_eq!(hashes, 7, "car, ledger, areas, two tracks and their segments");
    assert!(!page.contains(root().to_str().unwrap()), "no folder of this machine");
}

/// Against the system's own sha256sum.
#[test]
fn independent_sha256sum_the_hash_of_a_file() {
    use std::io::Write;
    let folder = Folder::new();
    let file = car(&folder, "c", None);
    let course = folder.course(OPEN, ROWS);
    let html = page(&[&file, &course], &folder);
    let mut sum = std::process::Command::new("sha256sum")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    sum.stdin.take().unwrap().write_all(&std::fs::read(&course).unwrap()).unwrap();
    let said = String::from_utf8(sum.wait_with_output().unwrap().stdout).unwrap();
    assert!(html.contains(&said[..64]), "{said}");
}

#[test]
fn end_to_end_the_page_repeats_to_the_byte() {
    let folder = Folder::new();
    let args = [CAR, TRACK, "--grip", "0.7"];
    assert_eq!(page(&args, &folder), page(&args, &folder));
}

#[test]
fn end_to_end_names_with_markup_stay_names() {
    let folder = Folder::new();
    let ledger = format!("{HEAD}\n\"{}\",planned,9,-400,300,800,,weighed\n", MARKUP.replace('"', "\"\""));
    let file = car(&folder, MARKUP, Some(&ledger));
    let course = folder.course(OPEN, ROWS);
    let page = page(&[&file, &course], &folder);
    assert!(!page.contains("<img"), "markup of a name got through");
    assert_eq!(page.matches("<script").count(), 5, "our own alone, four of them of what is live");
    assert!(page.contains("&lt;img src=x onerror=alert(1)&gt; &amp; "));
    for word in ["http-equiv=\"Content-Security-Policy\"", "default-src 'none'"] {
        assert!(page.contains(word), "{word}");
    }
}

#[test]
fn end_to_end_without_a_ledger_there_is_no_budget() {
    let folder = Folder::new();
    let file = car(&folder, "bare", None);
    let course = folder.course(OPEN, ROWS);
    let page = page(&[&file, &course], &folder);
    assert!(!page.contains("The mass budget") && !page.contains("data-part=\"lens\""));
}

/// The plan's rows by name, and what can't be.
#[test]
fn bad_input_plans_that_cannot_be() {
    let folder = Folder::new();
    let out = folder.path("p.html");
    let with = |plan: &[&str]| {
        let mut args = vec!["report", CAR, TRACK, "--out", &out];
        plan.iter().for_each(|p| args.extend(["--plan", p]));
        unladen(&args)
    };
    with(&["bonnit"]).refused(2, &["bonnit", "no row", "bonnet pins"]);
    with(&["bonnet"]).refused(2, &["bonnet", "needs `bonnet pins`"]);
    with(&["harness"]).refused(2, &["harness", "done already"]);
    with(&["front half-shafts"]).refused(2, &["of its group goes with it"]);
    let tanks = ["tank of 45 L", "tank of 60 L", "steel tank and straps", "fuel of 30 L moves with it"];
    with(&tanks).refused(2, &["can't be together"]);
    assert!(folder.names().is_empty(), "nothing is written: {:?}", folder.names());
    let file = car(&folder, "bare", None);
    unladen(&["report", &file, TRACK, "--out", &out, "--plan", "planned"]).refused(2, &["ledger.csv", "is not there"]);
}

#[test]
fn bad_input_names_of_pages() {
    let folder = Folder::new();
    unladen(&["report", CAR, TRACK, "--out", &folder.path("page.pdf")]).refused(2, &["must end in .html"]);
    unladen(&["report", CAR, TRACK, "--out", &folder.path("no/page.html")]).refused(2, &["page.html"]);
    unladen(&["report", CAR, "tracks/none.toml", "--out", &folder.path("page.html")]).refused(2, &["none.toml"]);
    assert!(folder.names().is_empty(), "{:?}", folder.names());
}

#[test]
fn end_to_end_the_other_pictures_are_drawn() {
    let folder = Folder::new();
    let file = |name: &str| folder.path(name);
    let (map, gg, water) = (file("map.svg"), file("gg.svg"), file("w.png"));
    assert_eq!(unladen(&["worth", CAR, TRACK, "--map", &map]).code, Some(0));
    assert_eq!(unladen(&["lap", CAR, TRACK, "--gg", &gg]).code, Some(0));
    assert_eq!(unladen(&["ledger", CAR, "--waterfall", &water]).code, Some(0));
    let read = |path: &str| std::fs::read_to_string(path).unwrap();
    assert!(read(&map).contains("data-part=\"above\"") && read(&gg).contains("data-part=\"cloud\""));
    assert!(std::fs::read(&water).unwrap().starts_with(b"\x89PNG"));
    unladen(&["worth", CAR, TRACK, "--map", &file("map.pdf")]).refused(2, &[".svg or .png"]);
    unladen(&["lap", CAR, TRACK, "--gg", &file("x.svg"), "--plot", &file("x.svg")]).refused(2, &["one file"]);
}

#[test]
fn end_to_end_completions_and_manual_pages() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let out = unladen(&["completions", shell]).quiet().to_owned();
        assert!(["unladen", "worth", "map"].iter().all(|word| out.contains(word)), "{shell}");
    }
    let folder = Folder::new();
    let run = unladen(&["man", &folder.path("man1")]);
    assert_eq!(run.code, Some(0), "{}", run.err);
    let pages: Vec<_> = std::fs::read_dir(folder.path("man1")).unwrap().map(|e| e.unwrap().path()).collect();
    let read = |name: &str| std::fs::read_to_string(folder.path(&format!("man1/{name}"))).unwrap();
    for name in ["unladen.1", "unladen-worth.1", "unladen-ledger-add.1", "unladen-report.1"] {
        assert!(pages.iter().any(|p| p.ends_with(name)), "{name} in {pages:?}");
        assert!(read(name).starts_with(".ie") || read(name).contains(".TH "), "{name}");
    }
    assert!(read("unladen-worth.1").contains("map"));
}

#[test]
fn end_to_end_a_page_answers_a_move_and_another_build() {
    let folder = Folder::new();
    let course = folder.course(OPEN, ROWS);
    let other = "vehicles/saloon-rwd";
    let asked = ["--item", "fuel tank", "--to", "1950,0,210", "--added-mass", "lines=-1.2kg", "--lap-spread", "0.5"];
    let builds = ["--against", other, "--set-second", "mass.total=1200 kg", "--plan", "none", "--step", "4"];
    let page = page(&[&[CAR, &course], &asked[..], &builds[..]].concat(), &folder);
    for heading in
        ["Moving the fuel tank", "Club saloon, rear drive (invented) against Club saloon, all-wheel drive (invented)"]
    {
        assert!(page.contains(&format!(">{heading}</h2>")), "{heading}");
    }
    // The answers come first, then what stands behind them; each caution stands once.
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    assert!(at("<p class=\"says\">Dry, ") < at("id=\"move\"") && at("id=\"move\"") < at("id=\"builds\""));
    assert!(at("id=\"builds\"") < at("id=\"worth\""));
    for caution in ["SAFETY: a fuel tank", "SAFETY: a changed driveline", "closed track only"] {
        assert_eq!(page.matches(caution).count(), 1, "{caution}");
    }
    // Two bars; fuel strip, speed and map of the move; speed and map dry and wet; crossover; each for a desk and for a phone.
    let drawn = |class: &str| page.matches(&format!("<svg class=\"{class}\"")).count();
    assert!(drawn("broad") >= 10 && drawn("broad") == drawn("narrow"), "{} {}", drawn("broad"), drawn("narrow"));
    for part in ["intervals", "cells", "faster", "gap", "lost"] {
        assert!(page.contains(&format!("data-part=\"{part}\"")), "{part}");
    }
    // Letters are text, in a typeface that the page brings; colours have dark counterparts.
    assert!(page.contains("</text>") && !page.contains("<use ") && page.contains("@font-face{"));
    let ink = "--1b2230";
    assert!(page.contains(&format!("var({ink},")) && page.contains(&format!("{ink}:#")));
    // What was asked for stands open, what wasn't is folded.
    let opened = |id: &str| {
        page[at(&format!("<section id=\"{id}\""))..].split_once('>').map(|(_, rest)| rest.starts_with("<details open>"))
    };
    for (id, open) in [("move", true), ("builds", true), ("worth", false), ("laps", false), ("limits", true)] {
        assert_eq!(opened(id), Some(open), "{id}");
    }
    let sentences = page.split("<p>").skip(1).filter_map(|p| p.split("</p>").next());
    for words in sentences {
        let bare: String = words
            .split('<')
            .filter_map(|piece| piece.split_once('>').map_or(Some(piece), |(_, rest)| Some(rest)))
            .collect();
        for raw in ["--", "`", "tyres.", "mass.", "car.toml"] {
            assert!(!bare.contains(raw), "{raw} in {bare}");
        }
    }
    let command = "--item &#39;fuel tank&#39; --to 1950,0,210 --added-mass lines=-1.2kg --against vehicles/saloon-rwd";
    let given = page.replace("'", "&#39;");
    assert!(given.contains(command), "{}", &given[given.find("<code>unladen report").unwrap_or(0)..][..400]);
    assert!(page.contains("vehicles/saloon-rwd/car.toml"), "its hash");
}

/// Asked which change gains most, the page answers that first, with its bars, and in words that a reader has.
#[test]
fn end_to_end_a_page_answers_which_change_gains_most() {
    let page = page(&[CAR, TRACK, "--rank", "--no-live", "--samples", "32"], &Folder::new());
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    assert!(at("Which of the planned changes gains most on ") < at("<p class=\"says\">Begin with the "));
    assert!(at("data-part=\"bars\"") < at("id=\"ranking\"") && at("id=\"ranking\"") < at("id=\"worth\""));
    let opened = |id: &str| {
        page[at(&format!("<section id=\"{id}\""))..].split_once('>').unwrap().1.starts_with("<details open>")
    };
    assert!(opened("ranking") && !opened("worth") && !opened("budget"));
    assert_eq!(page.matches("is not one to save by guess").count(), 1);
    assert!(!page[at("class=\"says\"")..at("id=\"ranking\"")].contains("--lap"), "a flag in a sentence");
}

#[test]
fn bad_input_questions_that_lack_something() {
    let folder = Folder::new();
    let out = folder.path("p.html");
    let report = |more: &[&str]| unladen(&[&["report", CAR, TRACK, "--out", &out], more].concat());
    for (more, said) in [
        (&["--item", "fuel tank"][..], "--to"),
        (&["--to", "1,2,3"], "--item"),
        (&["--box", "1,2,3"], "--item"),
        (&["--stint", "50L..5L"], "--item"),
        (&["--set-second", "mass.total=1 t"], "--against"),
        (&["--apart", "tyres"], "--against"),
        (&["--against", "vehicles/none"], "vehicles/none"),
        (&["--item", "fuel tank", "--to", "1950"], "three numbers"),
        (&["--item", "no such thing", "--to", "1950,0,210"], "no such thing"),
        (&["--item", "fuel tank", "--to", "1950,0,210", "--stint", "5L..55L"], "5"),
    ] {
        let run = report(more);
        assert!(run.code != Some(0) && run.err.contains(said), "{more:?}: {}", run.err);
        assert!(!std::path::Path::new(&out).exists(), "{more:?}");
    }
}

#[test]
fn end_to_end_the_map_of_a_car_with_ideas() {
    let folder = Folder::new();
    let rows = format!("{HEAD}\nspare wheel,planned,18,3050,0,430,,weighed\nroof panel,idea,14,1500,0,1250,,quoted\n");
    let (file, course) = (car(&folder, "c", Some(&rows)), folder.course(OPEN, ROWS));
    let map = |plan: &[&str]| {
        let out = folder.path("map.svg");
        let run = unladen(&[&["worth", &file, &course, "--map", &out], plan].concat());
        assert_eq!(run.code, Some(0), "{}", run.err);
        std::fs::read_to_string(out).unwrap()
    };
    let (planned, ideas, none) = (map(&[]), map(&["--plan", "ideas"]), map(&["--plan", "none"]));
    assert!(planned.contains("spare wheel") && !planned.contains("roof panel"));
    assert!(ideas.contains("roof panel") && ideas.contains(">idea (1)</text>") && ideas.contains("with ideas"));
    assert!(!none.contains("spare wheel"));
    let bare = folder.path("bare");
    std::fs::create_dir(&bare).unwrap();
    std::fs::copy(&file, format!("{bare}/car.toml")).unwrap();
    let out = folder.path("other.svg");
    for (more, said) in [
        (&[&file, "--plan", "ideas"][..], "--map"),
        (&[&bare, "--map", &out, "--plan", "ideas"], "ledger"),
        (&[&file, "--map", &out, "--plan", "roof rack"], "roof rack"),
    ] {
        let run = unladen(&[&["worth", more[0], &course], &more[1..]].concat());
        assert!(run.code != Some(0) && run.err.contains(said), "{more:?}: {}", run.err);
    }
}
