//! `unladen completions` and `unladen man`: made from the same definitions as the arguments.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Command;
use clap_complete::Shell;
use clap_mangen::Man;
use unladen_report::files::write::write_whole;

use crate::error::{CliError, Output};
use crate::output::{note, say};

/// Shown with `--help`.
pub const COMPLETIONS: &str = "Examples:\n  \
    unladen completions bash > ~/.local/share/bash-completion/completions/unladen\n  \
    unladen completions fish > ~/.config/fish/completions/unladen.fish\n  \
    unladen completions zsh > ~/.zfunc/_unladen";
/// Shown with `--help`.
pub const MAN: &str = "Example:  unladen man ~/.local/share/man/man1 && man unladen-worth";

/// `unladen completions`.
#[derive(Debug, clap::Args)]
pub struct CompletionsArgs {
    /// Which shell
    pub shell: Shell,
}

/// `unladen man`.
#[derive(Debug, clap::Args)]
pub struct ManArgs {
    /// The folder; it is made where it is not there
    pub folder: PathBuf,
}

/// Prints a shell's completions.
pub fn completions(args: &CompletionsArgs, mut whole: Command) -> Result<ExitCode, CliError> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, &mut whole, "unladen", &mut out);
    say(&String::from_utf8_lossy(&out))?;
    Ok(ExitCode::SUCCESS)
}

/// Writes a page of each command and of the whole.
pub fn man(args: &ManArgs, mut whole: Command) -> Result<ExitCode, CliError> {
    std::fs::create_dir_all(&args.folder).map_err(|source| Output::NoFolder { path: args.folder.clone(), source })?;
    whole.build();
    let mut count = 0;
    pages(&whole, &args.folder, &mut count)?;
    note(&format!("{count} pages are written to {}\n", args.folder.display()));
    Ok(ExitCode::SUCCESS)
}

fn pages(command: &Command, folder: &Path, count: &mut usize) -> Result<(), CliError> {
    // clap's own command that prints help has no page.
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        pages(sub, folder, count)?;
    }
    let man = Man::new(command.clone());
    let mut page = Vec::new();
    man.render(&mut page).map_err(Output::Print)?;
    write_whole(&folder.join(man.get_filename()), &page)?;
    *count += 1;
    Ok(())
}
