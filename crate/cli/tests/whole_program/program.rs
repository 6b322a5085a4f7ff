//! Running the program, and files to run it on.

use std::path::Path;
use std::process::{Command, Stdio};

/// What one run of the program left behind.
pub struct Run {
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

/// The program, to be started in a folder with nothing in the environment that
/// asks for colours or a browser.
pub fn command(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sweepbook"));
    command.current_dir(folder).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "DISPLAY", "WAYLAND_DISPLAY"] {
        command.env_remove(name);
    }
    command
}

/// Runs the program to its end.
pub fn run(folder: &Path, arguments: &[&str]) -> Run {
    finish(command(folder).args(arguments))
}

/// Runs a prepared command to its end. Fails on a panic, whatever the test.
pub fn finish(command: &mut Command) -> Run {
    let output = command.output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    let run = Run { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) };
    assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
    run
}

/// A sweep of an invented healthy triode with two sections: mu 20, a perveance
/// of 10 µA/V^1.5, at three plate voltages from zero bias to well past cutoff.
pub fn sweep(tube: &str) -> String {
    let mut text = format!(
        "# tube: {tube}\n# type: 6SN7GTB\n# grid_source_resistance: 0 ohm\n# current_meter: plate lead\n\
         section,Va [V],Vg [V],Ia [mA]\n"
    );
    for section in ["1", "2"] {
        for va in [100.0, 175.0, 250.0] {
            for step in 0..=40 {
                let vg = -20.0 + 0.5 * f64::from(step);
                let drive: f64 = vg + va / 20.0;
                let ma = 10e-3 * 20f64.sqrt() * 20.0 * drive.max(0.0).powf(1.5);
                text.push_str(&format!("{section},{va},{vg},{ma:.3}\n"));
            }
        }
    }
    text
}

/// Writes a file into a folder.
pub fn write(folder: &Path, name: &str, content: impl AsRef<[u8]>) {
    std::fs::write(folder.join(name), content).unwrap();
}
