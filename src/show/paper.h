// The papers for the bench: each a table that goes out as CSV for a machine and as a printable page for a person.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rules/ledger.h"
#include "solve/solved.h"

namespace loomproof {

/// What the builder adds to the lengths of the file when cutting; nothing unless they say so.
struct Slack {
  Metre each{};      // the same for every wire
  double share = 0;  // of the wire's own length
  std::string said;  // as it was given, for the page; empty = none stated

  Metre of(Metre length) const { return each + length * share; }
};

/// A column. One to `fill` is a box for the pen: what the file does not say stands empty in it.
struct PaperColumn {
  std::string title;
  bool fill = false;
  bool right = false;  // numbers, set to the right
  bool leads = false;  // a row with nothing behind this column is a heading of the rows below it
};

/// Rows under one heading, with what to do before them and when to stop.
struct PaperSection {
  std::string heading;             // empty where a paper has one section only
  std::vector<std::string> lines;  // instructions and notes above the rows
  std::vector<std::vector<std::string>> rows;
  std::string stop;  // stop rule; empty = none
};

struct Paper {
  std::string slug;  // name of its files: `cut-list`
  std::string title;
  std::vector<std::string> cautions;  // danger, above everything else
  std::string foot;                   // one line of our own, under every printed page
  std::vector<std::string> notes;     // what the figures rest on, below
  std::vector<PaperColumn> columns;
  std::vector<PaperSection> sections;
  bool landscape = false;
};

/// RFC 4180: CRLF, a header line, fields quoted where they hold a comma, a quote or a line break. A field that a
/// spreadsheet would run (it begins with = + - @, a tab or a carriage return, and is no plain number) gets an
/// apostrophe in front, which spreadsheets take for "text" (docs/papers.md). With several sections their heading is
/// the first column.
std::string paper_csv(const Paper&);

/// One self-contained page, A4, that needs no network and no script; every text escaped.
/// @param file_mark  of the loom's file (file_mark.h), for the head; empty: none
std::string paper_html(const Paper&, const Loom&, std::string_view file_mark = {});

/// `text` with & < > " ' as entities and what no page may hold (control characters, broken UTF-8) as `?`.
std::string html_escaped(std::string_view text);

/// Length in mm with no more digits than it has: `150`, `152.4`.
std::string millimetres(Metre);
/// A size as the user wrote it, with mm2 beside a gauge: `35 mm2`, `6 AWG (13.3 mm2)`; empty when not given.
std::string size_text(const Wire&);
/// As given, empty when not given.
std::string given_text(const std::optional<Placed<std::string>>&);
/// Names of the bundles that the wire runs in.
std::string runs_in(const Loom&, const Wire&);
/// Names of the wires on a terminal, but for `self`.
std::string wires_at(const Loom&, TerminalIndex, const Wire* self = nullptr);

Paper cut_list(const Solved&, const Slack&);
Paper materials(const Solved&, const Slack&);
Paper terminations(const Solved&);
Paper pin_tables(const Solved&);
Paper fuse_schedule(const Solved&);
Paper labels(const Solved&);

/// One file of the folder.
struct PaperFile {
  std::string name;
  std::string bytes;
};

/// All papers as CSV and HTML, in a fixed order; the same loom gives the same bytes. What the check found and was not
/// waived is said at the top of every page.
/// @param file_mark  of the loom's file, for every page's head
std::vector<PaperFile> papers_of(const Solved&, const Judgement&, const Slack&, std::string_view file_mark = {});

}  // namespace loomproof
