//! Pages on paper: printed by a headless browser, looked at with the PDF tools.
#![allow(dead_code, reason = "not every test that includes this uses all of it")]

use std::path::{Path, PathBuf};
use std::process::Command;

/// The browser and the PDF tools; where they are absent the test says so, and fails under CI.
pub fn tools() -> Option<PathBuf> {
    let found = |name: &str| {
        std::env::var_os("PATH").and_then(|path| {
            std::env::split_paths(&path)
                .map(|folder| folder.join(name))
                .find(|file| file.is_file())
        })
    };
    let browser = found("chromium").or_else(|| found("google-chrome"));
    if browser.is_none() || found("pdfinfo").is_none() || found("pdftotext").is_none() {
        assert_ne!(
            std::env::var("CI").as_deref(),
            Ok("true"),
            "chromium and poppler-utils are absent"
        );
        println!("not checked: chromium and poppler-utils (pdfinfo, pdftotext) are absent");
        return None;
    }
    browser
}

/// Prints a page on paper of this size; gives the PDF.
pub fn print(browser: &Path, page: &Path, size: &str) -> PathBuf {
    let folder = page.parent().unwrap();
    let text = std::fs::read_to_string(page).unwrap();
    let sized = folder.join(format!("{size}.html"));
    let style = format!("<style>@page {{ size: {size}; }}</style></head>");
    std::fs::write(&sized, text.replacen("</head>", &style, 1)).unwrap();
    print_as_it_is(browser, &sized)
}

/// Prints a page on the paper that it asks for itself; gives the PDF.
pub fn print_as_it_is(browser: &Path, page: &Path) -> PathBuf {
    let pdf = page.with_extension("pdf");
    let profile = page.with_extension("profile");
    let done = Command::new(browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
        ])
        .args([
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ])
        .arg("--no-pdf-header-footer")
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", page.display()))
        .output()
        .unwrap();
    assert!(done.status.success() && pdf.is_file(), "{done:?}");
    pdf
}

/// What a program prints.
pub fn stdout(program: &str, arguments: &[&str]) -> String {
    let done = Command::new(program).args(arguments).output().unwrap();
    assert!(done.status.success(), "{done:?}");
    String::from_utf8_lossy(&done.stdout).into_owned()
}

/// A line of what `pdfinfo` says of a PDF.
pub fn about(pdf: &Path, name: &str) -> String {
    let about = stdout("pdfinfo", &[pdf.to_str().unwrap()]);
    let line = about.lines().find(|line| line.starts_with(name));
    line.unwrap()[name.len()..].trim().to_owned()
}

/// How many pages a PDF has.
pub fn pages(pdf: &Path) -> usize {
    about(pdf, "Pages:").parse().unwrap()
}
