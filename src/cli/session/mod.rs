//! `carpotempo session`: the guided session in the browser.

mod before;
mod launcher;
mod prescribed;
mod prompting;
mod saving;
mod sought;
mod source;

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Instant, SystemTime};

use anyhow::{Context, anyhow};
use clap::Args;

use super::browser;
use super::demo::quoted;
use super::exit::say;
use super::store::StoreOption;
use crate::orientation::FilterKind;
use crate::page::{Page, Saving};
use crate::recording::{SessionHead, Writer};
use crate::session::Asked;
use crate::session::guided::view::Screen;
use crate::session::guided::{Guided, GuidedPlan};
use crate::sitting::{Clock, Outcome, Shown, SittingPlan, sit};
use before::Before;
use prescribed::{Prescribed, PrescribedArguments};
use prompting::Prompting;
use source::{Source, SourceArguments};

/// Arguments of `session`.
#[derive(Debug, Args)]
pub struct SessionArguments {
    #[command(flatten)]
    prescribed: PrescribedArguments,
    #[command(flatten)]
    source: SourceArguments,
    #[command(flatten)]
    store: StoreOption,
    /// Folder that the page saves to for the clinic [default: "For my clinic" in Documents, else at
    /// home]
    #[arg(long, value_name = "DIR", requires = "clinic")]
    save_to: Option<PathBuf>,
    /// Print the page's address only; open no browser
    #[arg(long)]
    no_browser: bool,
    /// Port of the page on this computer; 0 is any free one
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Begin nothing: write a file to be double-clicked that starts this session
    #[arg(long, value_name = "FILE", conflicts_with_all = ["no_browser", "stay"])]
    launcher: Option<PathBuf>,
    /// Keep the window of a failure open until Enter is pressed: a launcher's own
    #[arg(long, hide = true)]
    stay: bool,
}

/// Runs the command.
pub fn run(arguments: &SessionArguments) -> anyhow::Result<()> {
    if let Some(file) = &arguments.launcher {
        return write_launcher(file, arguments);
    }
    let done = session(arguments);
    if arguments.stay
        && let Err(error) = &done
    {
        eprintln!("carpotempo: {error:#}");
        eprintln!("Press Enter to close this window.");
        let _closed = std::io::stdin().read_line(&mut String::new());
    }
    done
}

fn write_launcher(file: &Path, arguments: &SessionArguments) -> anyhow::Result<()> {
    // What cannot be read now would be found out by the patient.
    let prescribed = arguments.prescribed.read()?;
    let store = arguments.store.resolve()?;
    let mut words: Vec<String> = vec!["session".to_owned()];
    words.extend(arguments.prescribed.words()?);
    words.extend(["--patient".to_owned(), prescribed.patient.to_string()]);
    words.extend(["--store".to_owned(), launcher::text_of(store.root())?]);
    if let Some(folder) = &arguments.save_to {
        words.extend(["--save-to".to_owned(), launcher::text_of(folder)?]);
    }
    words.extend(arguments.source.words());
    if arguments.port != 0 {
        words.extend(["--port".to_owned(), arguments.port.to_string()]);
    }
    words.push("--stay".to_owned());
    let (path, how) = launcher::write(file, launcher::Kind::own(), &words)?;
    say(&format!(
        "Written: {}. A double-click starts this session of {}. {how}\nIt holds the places of this program and of the routine: after moving either, write it again.\n",
        path.display(),
        prescribed.patient
    ))
}

fn session(arguments: &SessionArguments) -> anyhow::Result<()> {
    arguments.source.worn.check()?;
    let Prescribed {
        routine,
        patient,
        clinic_key,
    } = arguments.prescribed.read()?;
    let head = SessionHead {
        started_at: jiff::ZonedDateTime::now(),
        patient: patient.clone(),
        routine: Some(routine.clone()),
    };
    let today = head.started_at.date();
    let store = arguments.store.resolve()?;
    let before = Before::read(&store, &patient, &routine, today)?;
    let plan = GuidedPlan {
        first_time: before.first_time,
        night_asked: before.night_asked,
        last_start: before.last_start,
        worked_on: before.worked_on,
        last_ranges_deg: before.last_ranges_deg,
        already_done: before.already_done,
        already_counted: before.already_counted,
        forearm: arguments.source.worn.forearm_worn(),
        simulated: arguments.source.worn.simulate,
        clinic: clinic_key.is_some(),
        ..GuidedPlan::new(routine.clone(), today)
    };
    let (asked, asks) = channel();
    let save = clinic_key.map(|key| {
        let folder = arguments.save_to.clone();
        let folder = folder.unwrap_or_else(saving::usual_folder);
        saving::saver(store.clone(), patient.clone(), key, folder)
    });
    let mut page = served(arguments.port, &asked, save)?;
    listen_for_the_end(asked)?;
    let origin = Instant::now();
    let folder = store.new_session(&patient, &head.started_at)?;
    let writer = Writer::create(&folder, &head)?;
    let guided = Guided::new(plan);
    page.show(guided.view());
    let opens = !arguments.no_browser && browser::open(&page.url());
    say(&beginning(arguments, &page, &folder, opens))?;
    let outcome = sat(arguments, head, guided, writer, &mut page, &asks, origin);
    drop(page);
    ending(&folder, outcome)
}

fn served(
    port: u16,
    asked: &Sender<Asked>,
    save: Option<impl Fn(bool) -> Saving + Send + Sync + 'static>,
) -> anyhow::Result<Page> {
    let asked = asked.clone();
    let pressed = move |press| {
        let _nobody_listens = asked.send(Asked::Press(press));
    };
    Ok(match save {
        Some(save) => Page::serve_for_clinic(port, pressed, save)?,
        None => Page::serve(port, pressed)?,
    })
}

/// Ctrl-C ends the session and keeps it; the second one ends the program.
fn listen_for_the_end(asked: Sender<Asked>) -> anyhow::Result<()> {
    let once = AtomicBool::new(false);
    ctrlc::set_handler(move || {
        let _nobody_listens = asked.send(Asked::Quit);
        if once.swap(true, Ordering::SeqCst) {
            // What is on its way to the disk may hang there.
            std::process::exit(130);
        }
    })
    .context("listening for Ctrl-C")
}

fn beginning(arguments: &SessionArguments, page: &Page, folder: &Path, opens: bool) -> String {
    let whose = if arguments.source.worn.simulate {
        "SIMULATED: an invented person with an invented sensor; nothing here was measured.\n"
    } else {
        ""
    };
    let how = if opens {
        "The page opens in the browser. If it does not, open this address, all of it:"
    } else {
        "Open this address in the browser, all of it:"
    };
    format!(
        "{whose}{how}\n  {}\nRecording into {}. Ctrl-C ends the session.\n",
        page.url(),
        folder.display()
    )
}

fn sat(
    arguments: &SessionArguments,
    head: SessionHead,
    guided: Guided,
    writer: Writer,
    page: &mut Page,
    asks: &Receiver<Asked>,
    origin: Instant,
) -> Outcome {
    let since_1970 = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    let origin_ms = 1e3
        * since_1970
            .unwrap_or_default()
            .saturating_sub(origin.elapsed())
            .as_secs_f64();
    let prompting = head.routine.clone().map(Prompting::new);
    let mut prompting = prompting.unwrap_or_default();
    let (mut source, signals) = Source::new(&arguments.source, origin, prompting.prompter());
    let sitting = SittingPlan {
        head,
        opening: arguments.source.worn.opening("session"),
        kind: FilterKind::Vqf,
        clock: Clock::Computer {
            origin,
            pace_ratio: arguments.source.worn.pace,
        },
    };
    let stop = source.stopper();
    sit(
        &sitting,
        guided,
        writer,
        &signals,
        asks,
        &|| stop.stop(),
        &mut |shown| match shown {
            Shown::Say(line) => page.say(line),
            Shown::Now(now) => {
                let view = now.machine.view();
                if matches!(view.screen, Screen::Place { .. }) {
                    source.seek();
                }
                prompting.follow(&view.screen);
                let sample_at_ms = now
                    .heard_s
                    .map(|heard_s| origin_ms + 1e3 * heard_s / arguments.source.worn.pace);
                page.show_of(view, sample_at_ms);
            }
            Shown::Connected(_) => {}
            Shown::Trouble(words) => eprintln!(
                "Warning: {words}. The session goes on; what cannot be written waits and is tried again."
            ),
            Shown::TroubleOver => eprintln!("Everything is written again; nothing was lost."),
            Shown::UnitGone(words) | Shown::SourceEnded(words) => eprintln!("{words}."),
        },
    )
}

fn ending(folder: &Path, outcome: Outcome) -> anyhow::Result<()> {
    let shown = folder.display();
    if !outcome.kept {
        return say("Nothing was answered and nothing recorded; nothing is left behind.\n");
    }
    if let Some(trouble) = outcome.trouble {
        return Err(anyhow!("the recording in {shown} is not whole: {trouble}"));
    }
    let count: usize = outcome.analysis.sets.iter().map(|set| set.reps.len()).sum();
    let repetitions = match count {
        1 => "1 repetition".to_owned(),
        _ => format!("{count} repetitions"),
    };
    say(&format!(
        "Recorded in {shown}: {repetitions}. See it again:\n  carpotempo replay {}\n",
        quoted(&shown.to_string())
    ))
}
