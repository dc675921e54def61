//! The window's frame: strip, rail, head and the tap that joins them, from plain data; what was
//! clicked comes back. Knows no station's content: draw that in [`Layout::content`].

use egui::Ui;

use super::head::{HeadInfo, head};
use super::layout::Layout;
use super::rail::{RailStation, rail, tap};
use super::strip::{StripInfo, strip};
use crate::view::theme::Theme;

/// Everything the frame shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameInfo<'a> {
    /// The stations along the wire.
    pub stations: &'a [RailStation<'a>],
    /// The one shown; none taps nothing.
    pub current: Option<usize>,
    /// The strip.
    pub strip: StripInfo<'a>,
    /// The head.
    pub head: HeadInfo<'a>,
    /// Whether the wire's end jumps instead of moving.
    pub reduced_motion: bool,
}

/// What was clicked. At most one of them is set in one pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FrameAnswer {
    /// A station on the rail.
    pub station: Option<usize>,
    /// A view of the station shown.
    pub view: Option<usize>,
    /// Undo.
    pub undo: bool,
    /// Redo.
    pub redo: bool,
    /// The look: step to the next.
    pub theme: bool,
    /// The sheet of keys.
    pub keys: bool,
    /// Sound: switch it.
    pub sound: bool,
    /// The cautions.
    pub cautions: bool,
    /// The vehicle's name.
    pub vehicle_clicked: bool,
    /// The link.
    pub link_clicked: bool,
}

/// Draws the frame over the whole `Ui`; call it once, before the station's content. The layout it
/// used is [`Layout::within`] of the same `Ui`'s `max_rect`.
pub fn frame(ui: &mut Ui, layout: &Layout, info: &FrameInfo<'_>) -> FrameAnswer {
    let t = Theme::of(ui);
    ui.painter().rect_filled(layout.window, 0, t.face);
    let s = strip(ui, layout, &info.strip);
    let stereo = if info.strip.stereo.is_empty() { "Stereo" } else { info.strip.stereo };
    let r = rail(ui, layout, info.stations, info.current, stereo, info.reduced_motion);
    let view = head(ui, layout, &info.head);
    if let Some(current) = info.current {
        tap(ui.painter(), &t, layout, current);
    }
    FrameAnswer {
        station: r.station,
        view,
        undo: s.undo,
        redo: s.redo,
        theme: s.theme,
        keys: s.keys,
        sound: s.sound,
        cautions: r.cautions,
        vehicle_clicked: s.vehicle,
        link_clicked: s.link,
    }
}
