//! Hands a theme to egui: the embedded fonts, and every colour, stroke and gap of egui's own
//! widgets, so that a field, a list or a scroll bar looks like the rest. Knows no widget of ours.

use std::collections::BTreeMap;
use std::sync::Arc;

use egui::style::{ScrollStyle, Selection, WidgetVisuals, Widgets};
use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, Margin, Shadow, Stroke, TextStyle, vec2,
};

use super::{Theme, ThemeKind, bold, control, mono, regular, size, stroke, theme_id};

const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/B612-Regular.otf");
const BOLD: &[u8] = include_bytes!("../../../assets/fonts/B612-Bold.otf");
const MONO: &[u8] = include_bytes!("../../../assets/fonts/B612Mono-Regular.otf");

/// Gives a context our fonts and one theme, and keeps the theme for [`Theme::of`]. Call it at
/// start and whenever the look changes; fonts are loaded only the first time.
pub fn install(ctx: &egui::Context, theme: &Theme) {
    let fonts_id = egui::Id::unique("spokewire fonts");
    if !ctx.data(|d| d.get_temp::<bool>(fonts_id).unwrap_or(false)) {
        ctx.set_fonts(fonts());
        ctx.data_mut(|d| d.insert_temp(fonts_id, true));
    }
    let base = match theme.kind {
        ThemeKind::Light => egui::Theme::Light,
        ThemeKind::Dark | ThemeKind::Night => egui::Theme::Dark,
    };
    ctx.set_theme(base);
    ctx.set_style_of(base, style(theme, base));
    ctx.data_mut(|d| d.insert_temp(theme_id(), Arc::new(theme.clone())));
    ctx.request_repaint();
}

/// The family of B612 Bold. Only valid in a context that [`install`] has dressed.
pub(super) fn bold_family() -> FontFamily {
    use std::sync::LazyLock;
    static BOLD_NAME: LazyLock<Arc<str>> = LazyLock::new(|| Arc::from("bold"));
    FontFamily::Name(Arc::clone(&BOLD_NAME))
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    for (name, bytes) in [("B612", REGULAR), ("B612 Bold", BOLD), ("B612 Mono", MONO)] {
        fonts.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    }
    fonts.families.insert(FontFamily::Proportional, vec!["B612".to_owned()]);
    fonts.families.insert(bold_family(), vec!["B612 Bold".to_owned()]);
    fonts.families.insert(FontFamily::Monospace, vec!["B612 Mono".to_owned()]);
    fonts
}

fn style(t: &Theme, base: egui::Theme) -> egui::Style {
    let mut style = base.default_style();
    style.text_styles = BTreeMap::from([
        (TextStyle::Small, regular(size::AXIS)),
        (TextStyle::Body, regular(size::BODY)),
        (TextStyle::Button, regular(size::BODY)),
        (TextStyle::Heading, bold(size::HEAD)),
        (TextStyle::Monospace, mono(size::BODY)),
    ]);
    style.drag_value_text_style = TextStyle::Body;
    style.animation_time = 0.0; // nothing moves unless a reading moved
    style.explanation_tooltips = false;
    style.interaction.selectable_labels = false;
    style.interaction.tooltip_delay = 0.4;

    let s = &mut style.spacing;
    s.item_spacing = vec2(8.0, 8.0);
    s.button_padding = vec2(12.0, 6.0);
    s.interact_size = vec2(40.0, control::DENSE);
    s.window_margin = Margin::same(16);
    s.menu_margin = Margin::same(6);
    s.menu_spacing = 2.0;
    s.combo_width = 130.0;
    s.combo_height = 320.0;
    s.tooltip_width = 360.0;
    s.icon_width = 18.0;
    s.icon_width_inner = 10.0;
    s.scroll = scroll();
    visuals(t, &mut style.visuals);
    style
}

/// Always there, thin, flat, beside the content and never over it.
fn scroll() -> ScrollStyle {
    let mut scroll = ScrollStyle::solid();
    scroll.bar_width = 8.0;
    scroll.handle_min_length = 24.0;
    scroll.bar_inner_margin = 6.0;
    scroll.bar_outer_margin = 0.0;
    scroll.foreground_color = true;
    scroll.fade.strength = 0.0;
    scroll
}

fn visuals(t: &Theme, v: &mut egui::Visuals) {
    let corner = CornerRadius::same(control::RADIUS);
    v.dark_mode = t.kind != ThemeKind::Light;
    v.override_text_color = None;
    v.weak_text_color = Some(t.ink2);
    let widget = |fill: Color32, line: Color32, text: Color32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: Stroke::new(stroke::RULE, line),
        corner_radius: corner,
        fg_stroke: Stroke::new(stroke::RULE, text),
        expansion: 0.0,
    };
    v.widgets = Widgets {
        noninteractive: widget(t.face, t.rule, t.ink),
        // Scroll bars and ticks of check boxes are drawn in the text colour of these.
        inactive: widget(t.raise, t.edge, t.ink2),
        hovered: widget(t.raise, t.ink, t.ink),
        active: widget(t.press, t.ink, t.ink),
        open: widget(t.press, t.edge, t.ink),
    };
    v.selection = Selection { bg_fill: t.selected_text, stroke: Stroke::new(stroke::NODE, t.focus) };
    v.hyperlink_color = t.ink;
    v.faint_bg_color = t.raise;
    v.extreme_bg_color = t.well;
    v.text_edit_bg_color = Some(t.well);
    v.code_bg_color = t.well;
    v.warn_fg_color = t.ink;
    v.error_fg_color = t.alarm_ink;
    v.window_corner_radius = corner;
    v.window_shadow = Shadow::NONE;
    v.window_fill = t.raise;
    v.window_stroke = Stroke::new(stroke::RULE, t.edge);
    v.window_highlight_topmost = false;
    v.menu_corner_radius = corner;
    v.panel_fill = t.face;
    v.popup_shadow = Shadow::NONE;
    v.text_cursor.stroke = Stroke::new(stroke::NODE, t.ink);
    v.text_cursor.preview = false;
    v.text_cursor.blink = false;
    v.indent_has_left_vline = false;
    v.collapsing_header_frame = false;
    v.striped = false;
    v.slider_trailing_fill = false;
    v.interact_cursor = None;
}
