//! `carpotempo handover` and `carpotempo store` as a script meets them.

use std::process::{Command, Output, Stdio};

use super::places::{Places, code, places, three, tree};

/// Runs the program in the test's folder with nobody at a terminal.
fn run(places: &Places, line: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(line.split(' '))
        .current_dir(places.folder.path())
        .env("RUST_BACKTRACE", "1")
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// What it says on standard output, when it is done.
fn done(places: &Places, line: &str) -> String {
    let output = run(places, line);
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{line}: {error}");
    String::from_utf8(output.stdout).unwrap()
}

/// What it says on standard error, with that status and nothing on standard output.
fn fails(places: &Places, line: &str, status: i32) -> String {
    let output = run(places, line);
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{line}: {error}");
    assert!(output.stdout.is_empty(), "{line}");
    assert!(
        !error.contains("panicked") && !error.contains("backtrace"),
        "{error}"
    );
    error
}

#[test]
fn from_a_key_to_sessions_in_the_clinic() {
    let places = places();
    let names = three(&places.home);
    let said = done(&places, "handover key --out key.txt");
    assert!(
        said.contains("Keep it in the clinic") && said.contains("age1"),
        "{said}"
    );
    assert!(!said.contains("AGE-SECRET"), "the secret is shown nowhere");
    done(&places, "routine new --from gentle-start --out r.toml");
    let prepare = "handover prepare --routine r.toml --key key.txt --patient P-0001 --contact Ward-3 --out c.toml";
    let said = done(&places, prepare);
    assert!(said.contains("carpotempo session --clinic"), "{said}");
    let said = done(
        &places,
        "handover save --clinic c.toml --store home --out saved",
    );
    assert!(
        said.contains("3 sessions") && said.contains("for-my-clinic-"),
        "{said}"
    );
    let sealed: Vec<String> = tree(&places.folder.path().join("saved"))
        .into_keys()
        .collect();
    assert_eq!(sealed.len(), 1);
    let open = format!(
        "handover open saved/{} --key key.txt --store clinic",
        sealed[0]
    );
    let said = done(&places, &open);
    for name in &names {
        assert!(said.contains(&format!("{name}  new")), "{said}");
    }
    let said = done(&places, &open);
    assert!(
        said.starts_with("Nothing new: all 3 sessions of P-0001 are there already"),
        "{said}"
    );
    let said = done(
        &places,
        "handover save --clinic c.toml --store home --out saved",
    );
    assert!(
        said.contains("nothing was recorded since it was last saved. --all saves everything"),
        "{said}"
    );
    // Refusals, each with its status and one message.
    let error = fails(&places, &open.replace("key.txt", "clinic-key.txt"), 1);
    assert!(error.contains("is sealed to another key"), "{error}");
    let error = fails(&places, &format!("{open} --patient P-0002"), 1);
    assert!(
        error.contains("holds sessions of P-0001, not of P-0002"),
        "{error}"
    );
    let error = fails(
        &places,
        "handover save --clinic c.toml --patient P-0002 --store home",
        2,
    );
    assert!(error.contains("is for P-0001, not for P-0002"), "{error}");
    let error = fails(&places, "handover key --out key.txt", 1);
    assert!(error.contains("never overwritten"), "{error}");
    let bare = prepare
        .replace(" --contact Ward-3", "")
        .replace("c.toml", "d.toml");
    let error = fails(&places, &bare, 2);
    assert!(error.contains("--contact"), "{error}");
    fails(
        &places,
        "handover prepare --routine r.toml --public-key age1nothing --contact x --out d.toml",
        2,
    );
    fails(&places, "handover open", 2);
}

#[test]
fn a_session_is_set_up_by_a_clinic_file_or_a_routine_and_not_by_both() {
    let places = places();
    done(&places, "handover key --out key.txt");
    done(&places, "routine new --from gentle-start --out r.toml");
    done(
        &places,
        "handover prepare --routine r.toml --key key.txt --contact Ward-3 --out c.toml",
    );
    for line in [
        "session --patient P-0001",
        "session --clinic c.toml",
        "session --clinic c.toml --routine r.toml --patient P-0001",
        "session --routine r.toml",
    ] {
        fails(&places, line, 2);
    }
    let error = fails(&places, "session --clinic r.toml --patient P-0001", 1);
    assert!(error.contains("is no clinic file"), "{error}");
    let said = done(
        &places,
        "session --clinic c.toml --patient P-0001 --store home --launcher start",
    );
    assert!(said.contains("P-0001"), "{said}");
    let launcher = tree(places.folder.path())
        .into_iter()
        .find(|(name, _)| name.starts_with("start"));
    let text = String::from_utf8(launcher.unwrap().1).unwrap();
    assert!(
        text.contains("--clinic") && text.contains("c.toml") && !text.contains("--routine"),
        "{text}"
    );
}

#[test]
fn backup_restore_and_remove_ask_first() {
    let places = places();
    three(&places.home);
    let before = tree(places.home.root());
    for line in [
        "store backup P-0001 --out p.tar --store home",
        "store remove P-0001 --store home",
    ] {
        let error = fails(&places, line, 2);
        assert!(
            error.contains("give --yes P-0001") && error.contains("3 sessions"),
            "{error}"
        );
        let error = fails(&places, &format!("{line} --yes P-0002"), 2);
        assert!(error.contains("nothing was done"), "{error}");
    }
    assert!(!places.folder.path().join("p.tar").exists());
    assert_eq!(tree(places.home.root()), before);
    let said = done(
        &places,
        "store backup P-0001 --out p.tar --store home --yes P-0001",
    );
    assert!(said.contains("3 sessions of P-0001"), "{said}");
    let said = done(&places, "store remove P-0001 --store home --yes P-0001");
    assert!(said.starts_with("Removed: P-0001, 3 sessions"), "{said}");
    let error = fails(&places, "store remove P-0001 --store home --yes P-0001", 1);
    assert!(error.contains("there is no patient P-0001"), "{error}");
    let error = fails(&places, "store restore p.tar --store home", 2);
    assert!(error.contains("give --yes P-0001"), "{error}");
    let said = done(&places, "store restore p.tar --store home --yes P-0001");
    assert!(
        said.starts_with("3 sessions of P-0001 put into the store"),
        "{said}"
    );
    assert_eq!(tree(places.home.root()), before);
    let said = done(&places, "store restore p.tar --store home --yes P-0001");
    assert!(said.starts_with("Nothing new"), "{said}");
    assert_eq!(places.home.patients().unwrap(), [code("P-0001")]);
    let error = fails(
        &places,
        "store restore nothing.tar --store home --yes P-0001",
        1,
    );
    assert!(error.contains("nothing.tar"), "{error}");
}
