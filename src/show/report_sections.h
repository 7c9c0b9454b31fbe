// The sections of the report, each a piece of HTML; report.cpp puts them in order.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "rules/ledger.h"
#include "show/chart.h"
#include "solve/solved.h"

namespace loomproof::report {

struct Story {
  const Solved& solved;
  const Loom& loom;
  const Judgement& judgement;
  std::vector<const Obligation*> findings;  // numbered from 1 in this order, as in the text and the diagram
  std::vector<Zone> zones;                  // of every terminal, as the diagram shows them
};

/// "Can I build this?", what to do first, the counts.
std::string summary(const Story&);
/// Broken ones, each with figures, situation, fix.
std::string findings(const Story&);
/// Undecided ones: what to measure or look up, and where to write it.
std::string undecided(const Story&);
/// The drawing, made to answer pointer and keyboard, and the explorer's controls.
std::string drawing(const Story&, std::string_view svg);
/// Every wire with what it carries, how hot it gets and what protects it.
std::string wire_table(const Story&);
std::string closest_calls(const Story&);
/// Assumptions, waivers, what was looked at.
std::string small_print(const Story&);
std::string cautions();

std::string fuse_charts(const Story&);
std::string heat_charts(const Story&);
std::string precharge_charts(const Story&);
std::string load_volts(const Story&);

/// What the script needs to know of wires, findings and situations, as JSON in ASCII.
std::string script_data(const Story&);

/// A chart with its heading, its key and a sentence that says in words what it shows (HTML).
std::string figure(std::string_view heading, const chart::Chart&, std::string_view words_html);

/// Numbers of the findings about a wire, from 1.
std::vector<std::size_t> findings_of(const Story&, WireIndex);
/// A link to the row of a wire.
std::string wire_link(const Story&, WireIndex);
/// Share of a limit as a bar and a percentage; never rounded up to the limit.
std::string used_bar(double used);

}  // namespace loomproof::report
