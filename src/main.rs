use std::process::ExitCode;

fn main() -> ExitCode {
    bedway::cli::run(std::env::args_os())
}
