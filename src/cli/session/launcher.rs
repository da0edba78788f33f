//! A file to be double-clicked, which starts this session and no other: a desktop entry on Linux, a
//! `.command` on macOS, a `.cmd` on Windows.
//!
//! Source of the quoting: Desktop Entry Specification 1.5 (freedesktop.org), "The Exec key" and
//! "Possible value types"; POSIX.1-2017, Shell Command Language 2.2.2 (single quotes); for `cmd` the
//! doubled percent sign of batch files and double quotes, which no Windows path may hold.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

/// Says that a file is ours, and may be written over.
const MARK: &str = "carpotempo session launcher";
/// What is shown under the file where the desktop shows names.
const NAME: &str = "Wrist exercises";

/// Which kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Linux.
    Desktop,
    /// macOS.
    Command,
    /// Windows.
    Cmd,
}

impl Kind {
    /// This platform's.
    pub fn own() -> Kind {
        if cfg!(windows) {
            Kind::Cmd
        } else if cfg!(target_os = "macos") {
            Kind::Command
        } else {
            Kind::Desktop
        }
    }

    fn ending(self) -> &'static str {
        match self {
            Kind::Desktop => "desktop",
            Kind::Command => "command",
            Kind::Cmd => "cmd",
        }
    }

    /// How the person uses it.
    fn how(self) -> &'static str {
        match self {
            Kind::Desktop => {
                "Put it on the desktop. Some desktops ask once: right-click it and choose \"Allow Launching\"."
            }
            Kind::Command => {
                "Put it on the desktop. The first time, macOS may ask: right-click it and choose Open."
            }
            Kind::Cmd => "Put it on the desktop.",
        }
    }

    /// The file's text: a command of these words.
    fn text(self, words: &[String]) -> String {
        let join = |quoted: fn(&str) -> String| {
            let all: Vec<String> = words.iter().map(|word| quoted(word)).collect();
            all.join(" ")
        };
        match self {
            Kind::Desktop => format!(
                "[Desktop Entry]\n# {MARK}\nType=Application\nVersion=1.5\nName={NAME}\nTerminal=true\nExec={}\n",
                join(desktop_word)
            ),
            Kind::Command => format!("#!/bin/sh\n# {MARK}\nexec {}\n", join(shell_word)),
            Kind::Cmd => format!(
                "@echo off\r\nrem {MARK}\r\nchcp 65001 >nul\r\ntitle {NAME}\r\n{}\r\n",
                join(batch_word)
            ),
        }
    }
}

/// Double quotes around; within them `"`, `` ` ``, `$` and `\` after a backslash; then, as in every
/// value, each backslash twice, and the percent sign twice since it begins a field code.
fn desktop_word(word: &str) -> String {
    let mut quoted = String::from("\"");
    for letter in word.chars() {
        match letter {
            '"' | '`' | '$' | '\\' => quoted.extend(['\\', letter]),
            '%' => quoted.push_str("%%"),
            _ => quoted.push(letter),
        }
    }
    quoted.push('"');
    quoted.replace('\\', "\\\\")
}

/// Single quotes around; a single quote ends them, stands alone, and begins them again.
fn shell_word(word: &str) -> String {
    format!("'{}'", word.replace('\'', r"'\''"))
}

fn batch_word(word: &str) -> String {
    format!("\"{}\"", word.replace('%', "%%"))
}

/// Writes a launcher that starts this program with these arguments. Returns where it is and how it
/// is used.
pub fn write(
    asked: &Path,
    kind: Kind,
    arguments: &[String],
) -> anyhow::Result<(PathBuf, &'static str)> {
    let path = named(asked, kind)?;
    let program = std::env::current_exe().context("finding this program's own file")?;
    let mut words = vec![text_of(&program)?];
    words.extend_from_slice(arguments);
    if let Some(word) = words.iter().find(|word| word.contains(char::is_control)) {
        bail!(
            "a launcher cannot hold {word:?}: a line break or another control character is in it"
        );
    }
    if kind == Kind::Cmd
        && let Some(word) = words.iter().find(|word| word.contains('"'))
    {
        bail!("a launcher for Windows cannot hold {word:?}: a double quote is in it");
    }
    let shown = path.display();
    if path.exists() {
        let ours = std::fs::read_to_string(&path).is_ok_and(|text| text.contains(MARK));
        if !ours {
            bail!("{shown} is there already and is no launcher of this program; give another name");
        }
    }
    std::fs::write(&path, kind.text(&words)).with_context(|| format!("writing {shown}"))?;
    allow_to_run(&path).with_context(|| format!("allowing {shown} to be run"))?;
    Ok((path, kind.how()))
}

/// The file's name with the ending by which the platform knows what to do with it.
fn named(asked: &Path, kind: Kind) -> anyhow::Result<PathBuf> {
    let own = kind.ending();
    let ending = asked.extension().and_then(|ending| ending.to_str());
    match ending {
        Some(ending) if ending.eq_ignore_ascii_case(own) => Ok(asked.to_owned()),
        Some("desktop" | "command" | "cmd" | "bat") => bail!(
            "{} is not a launcher for this computer; here its name ends in .{own}",
            asked.display()
        ),
        _ => {
            let mut name = asked.as_os_str().to_owned();
            name.push(format!(".{own}"));
            Ok(PathBuf::from(name))
        }
    }
}

/// A path as text, from the root: a launcher starts anywhere.
pub fn text_of(path: &Path) -> anyhow::Result<String> {
    let whole = std::path::absolute(path).with_context(|| format!("finding {}", path.display()))?;
    match whole.to_str() {
        Some(text) => Ok(text.to_owned()),
        None => bail!(
            "a launcher cannot hold the path {}: it is not all text",
            whole.display()
        ),
    }
}

#[cfg(unix)]
fn allow_to_run(path: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn allow_to_run(_path: &Path) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    fn words(all: &[&str]) -> Vec<String> {
        all.iter().map(|word| (*word).to_owned()).collect()
    }

    /// By hand, from the specification: `\` is quoted to `\\`, and each of the two is written twice.
    #[test]
    fn a_desktop_word_is_quoted_and_then_written_as_a_value() {
        assert_eq!(desktop_word("a b"), r#""a b""#);
        assert_eq!(desktop_word(r#"a"b"#), r#""a\\"b""#);
        assert_eq!(desktop_word("$HOME `x`"), r#""\\$HOME \\`x\\`""#);
        assert_eq!(desktop_word(r"a\b"), r#""a\\\\b""#);
        assert_eq!(desktop_word("5 %f"), r#""5 %%f""#);
        assert_eq!(desktop_word("it's; & é"), r#""it's; & é""#);
    }

    #[test]
    fn the_other_platforms_files_hold_their_own_quotes() {
        let all = words(&["/opt/a b/carpotempo", "session", "it's $5 100%"]);
        assert_eq!(
            Kind::Command.text(&all),
            "#!/bin/sh\n# carpotempo session launcher\nexec '/opt/a b/carpotempo' 'session' 'it'\\''s $5 100%'\n"
        );
        let cmd = Kind::Cmd.text(&all);
        assert!(
            cmd.ends_with("\r\n\"/opt/a b/carpotempo\" \"session\" \"it's $5 100%%\"\r\n"),
            "{cmd}"
        );
        assert!(cmd.lines().count() == cmd.matches("\r\n").count());
    }

    #[test]
    fn the_ending_is_the_platforms_own() {
        let named = |name: &str| named(Path::new(name), Kind::Desktop);
        assert_eq!(named("a").unwrap(), Path::new("a.desktop"));
        assert_eq!(named("a.b").unwrap(), Path::new("a.b.desktop"));
        assert_eq!(named("a.desktop").unwrap(), Path::new("a.desktop"));
        assert!(named("a.cmd").unwrap_err().to_string().contains(".desktop"));
    }
}
