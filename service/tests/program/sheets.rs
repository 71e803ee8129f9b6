//! Sheets on the command line: a PDF, and pictures as files.

use std::fs;

use crate::call::{output, run};
use crate::folder::Folder;

/// Strips and a fabric with names that would be markup, or lead out of a folder.
fn scenario(unit: &str) -> String {
    let strip = |id: &str| serde_json::json!({"id": id, "length": 7, "width": 2, "design": "vine"});
    serde_json::json!({
        "format": 1, "name": "<script>alert(1)</script>", "unit": unit,
        "strips": [strip("../x"), strip("<script>"), strip("C:\\x"), strip("/etc/x")],
        "hoops": [{"id": "medium", "field": [6, 10]}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "vine-2", "width": 2, "repeat": 3.5, "repeats": 2}]}],
        "materials": {"fabrics": [{"id": "../../x", "width": 40}]}
    })
    .to_string()
}

/// The sizes of the pages themselves are tested where they are made.
#[test]
fn a_pdf_is_the_same_each_time_and_made_for_the_paper_of_the_unit() {
    let metric = scenario("mm")
        .replace("\"length\":7", "\"length\":70")
        .replace("\"width\":2", "\"width\":20")
        .replace("\"repeat\":3.5", "\"repeat\":35")
        .replace("[6,10]", "[60,100]")
        .replace("\"width\":40", "\"width\":1000");
    for (unit, scenario) in [("in", scenario("in")), ("mm", metric)] {
        let print = |paper: &[&str]| {
            let arguments = [&["plan", "-", "--format", "pdf"], paper].concat();
            let output = output(&arguments, &scenario);
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(0), "{unit} {paper:?}: {said}");
            output.stdout
        };
        let [untold, letter, a4] = [&[][..], &["--paper", "letter"], &["--paper", "a4"]].map(print);
        assert!(untold.starts_with(b"%PDF-") && untold.trim_ascii_end().ends_with(b"%%EOF"));
        assert!(letter != a4);
        let usual = match unit {
            "in" => letter,
            _ => a4,
        };
        assert!(
            untold == usual,
            "{unit}: two runs differ, or the paper is another"
        );
    }
}

#[test]
fn a_pdf_goes_to_its_file() {
    let folder = Folder::new("pdf");
    let file = folder.path("quilt.pdf");
    let arguments = ["plan", "-", "--format", "pdf", "--out", &file];
    let (code, out, err) = run(&arguments, &scenario("in"));
    assert_eq!((code, out.as_str()), (0, ""), "{err}");
    assert!(fs::read(&file).expect("the file").starts_with(b"%PDF-"));
    assert_eq!(folder.names(""), ["quilt.pdf"]);
}

#[test]
fn pictures_are_files_of_their_own_in_one_folder() {
    let folder = Folder::new("svg");
    let inner = folder.path("pictures");
    let arguments = ["plan", "-", "--format", "svg", "--out", &inner];
    for _ in 0..2 {
        let (code, out, err) = run(&arguments, &scenario("in"));
        assert_eq!((code, out.as_str()), (0, ""), "{err}");
    }
    assert_eq!(folder.names(""), ["pictures"], "nothing beside the folder");
    let names = folder.names("pictures");
    for name in [
        "quilt.svg",
        "legend.svg",
        "hooping-1.svg",
        "fabric-x-1.svg",
        "strip-x.svg",
    ] {
        assert!(
            names.iter().any(|found| found == name),
            "{name} in {names:?}"
        );
    }
    for name in &names {
        let text = fs::read_to_string(folder.path(&format!("pictures/{name}"))).expect("text");
        assert!(text.starts_with("<svg") && text.contains("xmlns=\"http://www.w3.org/2000/svg\""));
        assert!(!text.contains("<script"), "{name}");
    }
}

#[test]
fn what_cannot_be_printed_is_told_with_what_would_do() {
    let told = |arguments: &[&str]| {
        let (code, out, err) = run(arguments, &scenario("in"));
        assert_eq!(out, "", "{arguments:?}");
        (code, err)
    };
    let (code, err) = told(&["plan", "-", "--format", "pdf", "--paper", "a5"]);
    assert_eq!(code, 2);
    assert!(err.contains("'a5'") && err.contains("a4, letter"), "{err}");
    let (code, err) = told(&["plan", "-", "--format", "svg"]);
    assert_eq!(code, 1);
    assert!(err.contains("--out") && err.contains("folder"), "{err}");
    let (code, err) = told(&["plan", "-", "--format", "html", "--paper", "a4"]);
    assert_eq!(code, 1);
    assert!(err.contains("--format pdf"), "{err}");
    let (code, err) = told(&[
        "plan",
        "-",
        "--format",
        "svg",
        "--out",
        "no-such-folder/pictures",
    ]);
    assert_eq!(code, 1);
    assert!(err.contains("no-such-folder"), "{err}");
    for format in ["pdf", "svg"] {
        let folder = Folder::new(&format!("compare-{format}"));
        let out = folder.path("out");
        let (code, err) = told(&["compare", "-", "--format", format, "--out", &out]);
        assert_eq!(code, 1);
        assert!(err.contains("of a plan only"), "{err}");
        assert_eq!(folder.names("").len(), 0);
    }
}
