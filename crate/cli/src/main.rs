//! The terminal program.

mod page;

fn main() -> std::process::ExitCode {
    let done = match std::env::args().nth(1) {
        Some(dir) => page::write_to(std::path::Path::new(&dir)).map(|()| dir),
        None => page::ensure_built(&mut |line| eprintln!("{line}")).map(|dir| dir.display().to_string()),
    };
    match done {
        Ok(dir) => {
            println!("{dir}");
            std::process::ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            std::process::ExitCode::FAILURE
        }
    }
}
