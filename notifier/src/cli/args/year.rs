//! `year`

use std::path::PathBuf;

/// Paper that a wall chart is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum PaperSize {
    /// 297 by 420 mm
    A3,
    /// 420 by 594 mm
    A2,
}

/// `year`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness year --site long-bank --out year.pdf\n\n\
                  No letter is smaller than 7 points: species that would not fit so go on to a\n\
                  second sheet."
)]
pub struct Year {
    /// Site id; may be left out where there is one site
    #[arg(long)]
    pub site: Option<String>,
    /// File for it, .svg, .png or .pdf; a PDF in handouts in the workspace where left out
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Paper that it is drawn for
    #[arg(long, value_name = "SIZE", value_enum, default_value_t = PaperSize::A3)]
    pub paper: PaperSize,
    /// For yourself alone: with sensitive species, and of a sensitive site
    #[arg(long)]
    pub with_sensitive: bool,
    /// What others may do with it, instead of what [handout] in wingtide.toml says
    #[arg(long, value_name = "TEXT")]
    pub licence: Option<String>,
}
