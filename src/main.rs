//! The carpotempo program.

fn main() -> std::process::ExitCode {
    carpotempo::cli::main()
}
