//! The figure of a tube: one plan and one drawing function, used on a canvas
//! while looking and as SVG in print. [`LotFigure`] is the picture of a lot.
//!
//! [`Figure::new`] plans (numbers only, so it runs anywhere); [`draw()`] draws the
//! plan on any plotters area; [`Figure::nearest`], [`Figure::step`] and
//! [`Figure::reading`] read points off the same plan, so what is read is what is
//! drawn. No text is ever measured: plotters can do that only where there is a
//! document, and a worker has none.

mod among;
mod difference;
mod draw;
mod labels;
mod palette;
mod pen;
mod plan;
mod reading;
mod scale;
mod strokes;
mod svg;
mod table;
mod thumb;
mod ticks;
mod trace;
mod words;

pub use among::{LotFigure, LotOptions, Pointed, draw_lot};
pub use difference::{Chosen, Differences, Differs, Largest, differences};
pub(crate) use difference::{named_of, sections};
pub use draw::{Layer, Scene, draw};
pub use labels::Label;
pub use palette::{Palette, STYLES, Shape, Style, Theme};
pub use plan::{CurrentAxis, FOOT_SHARE, Figure, Options, Panel, Shows, fitting_axis};
pub use reading::{Cursor, Reading, Step};
pub use scale::{Axis, Frame, Scale, Spread};
pub use svg::svg;
pub use table::Table;
pub use thumb::{Stroke, thumb};
pub use ticks::Ticks;
pub use trace::{Trace, outline};
pub use words::{minus, short, volts};
