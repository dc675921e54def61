//! The themes against WCAG 2.2 and against the printed tables of the look.

use super::*;

const TEXT: f64 = 4.5; // WCAG 2.2, 1.4.3
const MARK: f64 = 3.0; // WCAG 2.2, 1.4.11

fn at_least(limit: f64, what: &str, kind: ThemeKind, a: Color32, b: Color32) {
    let got = contrast(a, b);
    // The table is given to one decimal, and alarm on the light face stands at exactly 3.0 there.
    assert!(got >= limit - 0.05, "{what} in {kind:?}: contrast {got:.2}, wanted {limit}");
}

#[test]
fn contrast_of_black_and_white_is_21_and_of_one_colour_1() {
    assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    assert!((contrast(Color32::WHITE, Color32::BLACK) - 21.0).abs() < 1e-9);
    assert!((contrast(hex(0xD5_5E00), hex(0xD5_5E00)) - 1.0).abs() < 1e-12);
    // #777777 on white is the well-known 4.48 that just misses 4.5.
    assert!((contrast(hex(0x77_7777), Color32::WHITE) - 4.48).abs() < 0.005);
}

#[test]
fn text_reads_on_every_ground_it_is_used_on() {
    for kind in ThemeKind::ALL {
        let t = Theme::new(kind);
        for (ground_name, ground) in
            [("face", t.face), ("well", t.well), ("raise", t.raise), ("press", t.press)]
        {
            at_least(TEXT, &format!("ink on {ground_name}"), kind, t.ink, ground);
            at_least(TEXT, &format!("ink2 on {ground_name}"), kind, t.ink2, ground);
        }
        at_least(TEXT, "ink3 on face", kind, t.ink3, t.face);
        at_least(TEXT, "ink3 on well", kind, t.ink3, t.well);
        at_least(TEXT, "on act", kind, t.on_act, t.act);
        at_least(TEXT, "second text on act", kind, t.on_act2, t.act);
        at_least(TEXT, "alarm ink on its face", kind, t.alarm_ink, t.alarm_face);
        at_least(TEXT, "alarm ink on face", kind, t.alarm_ink, t.face);
        at_least(TEXT, "ink on alarm face", kind, t.ink, t.alarm_face);
        for i in 0..7 {
            let b = t.button(i);
            at_least(TEXT, &format!("letter on plate {i}"), kind, b.letter, b.plate);
            at_least(TEXT, &format!("ink on band {i}"), kind, t.ink, b.band);
            at_least(TEXT, &format!("ink2 on band {i}"), kind, t.ink2, b.band);
        }
        at_least(TEXT, "ink on rest's band", kind, t.ink, t.rest.band);
    }
}

#[test]
fn marks_and_outlines_stand_out() {
    for kind in ThemeKind::ALL {
        let t = Theme::new(kind);
        for (name, ground) in [("face", t.face), ("well", t.well), ("raise", t.raise)] {
            at_least(MARK, &format!("edge on {name}"), kind, t.edge, ground);
            at_least(MARK, &format!("focus on {name}"), kind, t.focus, ground);
        }
        at_least(MARK, "alarm on face", kind, t.alarm, t.face);
        for i in 0..7 {
            // On light the key line in ink carries the outline.
            at_least(MARK, &format!("plate {i} on well"), kind, t.band_edge(i), t.well);
            at_least(MARK, &format!("plate {i} on face"), kind, t.band_edge(i), t.face);
        }
    }
}

/// The printed table: contrast to one decimal, per theme.
#[test]
fn the_printed_contrast_table_holds() {
    let rows = |t: &Theme| {
        [
            contrast(t.ink, t.face),
            contrast(t.ink, t.well),
            contrast(t.ink, t.raise),
            contrast(t.ink, t.press),
            contrast(t.ink2, t.face),
            contrast(t.ink2, t.well),
            contrast(t.ink2, t.raise),
            contrast(t.ink2, t.press),
            contrast(t.ink3, t.face),
            contrast(t.ink3, t.well),
            contrast(t.on_act, t.act),
            contrast(t.alarm_ink, t.alarm_face),
            contrast(t.ink, t.alarm_face),
            contrast(t.edge, t.face),
            contrast(t.edge, t.well),
            contrast(t.edge, t.raise),
            contrast(t.alarm, t.face),
        ]
    };
    let printed = [
        (
            ThemeKind::Dark,
            [14.9, 16.2, 13.0, 10.3, 8.7, 9.5, 7.6, 6.0, 6.2, 6.7, 15.6, 8.3, 14.5, 4.4, 4.8, 3.8, 4.6],
        ),
        (
            ThemeKind::Light,
            [13.6, 16.5, 15.2, 11.7, 7.2, 8.8, 8.1, 6.2, 5.4, 6.5, 16.5, 5.5, 14.0, 3.9, 4.8, 4.4, 3.0],
        ),
        (
            ThemeKind::Night,
            [8.1, 8.3, 7.7, 7.1, 5.8, 6.0, 5.5, 5.1, 4.7, 4.8, 5.1, 5.2, 7.6, 3.3, 3.4, 3.1, 3.1],
        ),
    ];
    for (kind, wanted) in printed {
        for (row, (got, want)) in rows(&Theme::new(kind)).into_iter().zip(wanted).enumerate() {
            assert!((got - want).abs() <= 0.051, "{kind:?}, row {row}: {got:.2}, printed {want}");
        }
    }
}

#[test]
fn no_two_of_sixteen_buttons_look_the_same() {
    let t = Theme::new(ThemeKind::Dark);
    for a in 0..56 {
        for b in 0..a {
            assert!(
                t.button(a).plate != t.button(b).plate || t.shape(a) != t.shape(b),
                "{a} and {b} share colour and shape"
            );
        }
    }
    assert_eq!(letter(0), 'A');
    assert_eq!(letter(15), 'P');
}

#[test]
fn night_keeps_every_large_colour_below_a_luminance_of_0_31() {
    let t = Theme::new(ThemeKind::Night);
    for i in 0..6 {
        let l = luminance(t.button(i).plate);
        assert!((0.175..=0.31).contains(&l), "button {i}: {l:.3}");
    }
}

#[test]
fn every_sign_in_use_is_in_all_three_fonts() {
    let ctx = egui::Context::default();
    install(&ctx, &Theme::new(ThemeKind::Dark));
    let signs = "Ωµ±≥≤→←↑↓×°σ∥−½·–…√≈Δ✓";
    let mut missing = String::new();
    let mut output = ctx.run_ui(egui::RawInput::default(), |ui| {
        for font in [regular(14.0), bold(14.0), mono(14.0)] {
            for c in signs.chars() {
                if !ui.fonts_mut(|f| f.has_glyph(&font, c)) {
                    missing.push(c);
                }
            }
        }
    });
    output.textures_delta.clear();
    assert_eq!(missing, "");
}

#[test]
fn installing_a_theme_is_seen_by_whoever_asks_for_it() {
    let ctx = egui::Context::default();
    assert_eq!(Theme::of(&ctx).kind, ThemeKind::Dark);
    for kind in ThemeKind::ALL {
        install(&ctx, &Theme::new(kind));
        assert_eq!(Theme::of(&ctx).kind, kind);
        assert_eq!(ctx.global_style().visuals.panel_fill, Theme::new(kind).face);
        assert_eq!(ctx.global_style().visuals.window_shadow, egui::Shadow::NONE);
    }
}
