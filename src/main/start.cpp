// `start`: a first complete file from a few numbers, given as options or, on a terminal, asked one by one.
#include <unistd.h>

#include <charconv>
#include <functional>
#include <iostream>
#include <memory>
#include <sstream>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/output.h"
#include "main/sizing.h"
#include "read/read.h"
#include "read/slots.h"
#include "show/wash.h"
#include "size/first_loom.h"
#include "units/parse.h"

namespace loomproof {
namespace {

// One number that the builder may know: how it is asked for, in which unit, and where it goes.
struct Question {
  std::string option;
  std::string asks;
  Dimension dimension;
  std::string assumed;  // as text; empty: unknown, and left out of the file
  std::function<void(FirstLoom&, double)> put;
};

const std::vector<Question>& questions() {
  static const std::vector<Question> all{
      {"--series", "cells in series", Dimension::count, "16",
       [](FirstLoom& w, double v) { w.series = static_cast<int>(v); }},
      {"--parallel", "cells in parallel", Dimension::count, "1",
       [](FirstLoom& w, double v) { w.parallel = static_cast<int>(v); }},
      {"--battery-current", "battery current limit of the controller", Dimension::current, "100 A",
       [](FirstLoom& w, double v) { w.battery_a = v; }},
      {"--phase-current", "phase current limit of the controller", Dimension::current, "250 A",
       [](FirstLoom& w, double v) { w.phase_a = v; }},
      {"--regen-current", "largest current that the controller gives back", Dimension::current, "0 A",
       [](FirstLoom& w, double v) { w.regen_a = v; }},
      {"--charger-current", "current of the charger", Dimension::current, "10 A",
       [](FirstLoom& w, double v) { w.charger_a = v; }},
      {"--capacitance", "capacitance of the controller", Dimension::capacitance, "",
       [](FirstLoom& w, double v) { w.capacitance_uf = v * 1e6; }},
      {"--bleed", "resistor across the controller's bus", Dimension::resistance, "",
       [](FirstLoom& w, double v) { w.bleed_kohm = v / 1e3; }},
      {"--cell-resistance", "resistance of one cell", Dimension::resistance, "",
       [](FirstLoom& w, double v) { w.cell_mohm = v * 1e3; }},
      {"--cell-capacity", "capacity of one cell", Dimension::charge, "", [](FirstLoom& w, double v) { w.cell_ah = v; }},
      {"--pack-current", "what the whole pack gives for ever", Dimension::current, "",
       [](FirstLoom& w, double v) { w.continuous_a = v; }},
      {"--pack-charge", "what the whole pack may be charged with", Dimension::current, "",
       [](FirstLoom& w, double v) { w.charge_a = v; }},
      {"--ambient", "hottest air along the loom", Dimension::temperature, "40 degC",
       [](FirstLoom& w, double v) { w.ambient_c = v; }},
      {"--to-controller", "way from pack to controller", Dimension::length, "0.6 m",
       [](FirstLoom& w, double v) { w.pack_to_controller_m = v; }},
      {"--to-motor", "way from controller to motor", Dimension::length, "0.5 m",
       [](FirstLoom& w, double v) { w.controller_to_motor_m = v; }},
      {"--to-front", "way from pack to handlebar or dashboard", Dimension::length, "1.2 m",
       [](FirstLoom& w, double v) { w.to_front_m = v; }},
      {"--to-tail", "way from pack to tail lamps", Dimension::length, "1.4 m",
       [](FirstLoom& w, double v) { w.to_tail_m = v; }},
  };
  return all;
}

constexpr std::string_view everything = "headlamp,tail,brake-lamp,indicators,horn,display,charger,bms";

struct StartOptions {
  std::string out, name = "First loom", chemistry, with, lamps = "led";
  std::vector<std::string> answers;  // by question; empty: not given
  bool open = false, force = false;
};

// @return false when the list holds an unknown word, which is told
bool equip(FirstLoom& wish, const std::string& with) {
  wish.headlamp = wish.tail = wish.brake_lamp = wish.indicators = wish.horn = wish.display = wish.charger = wish.bms =
      false;
  std::stringstream words(with);
  for (std::string word; std::getline(words, word, ',');) {
    bool* const flag = word == "headlamp"     ? &wish.headlamp
                       : word == "tail"       ? &wish.tail
                       : word == "brake-lamp" ? &wish.brake_lamp
                       : word == "indicators" ? &wish.indicators
                       : word == "horn"       ? &wish.horn
                       : word == "display"    ? &wish.display
                       : word == "charger"    ? &wish.charger
                       : word == "bms"        ? &wish.bms
                                              : nullptr;
    if (flag) *flag = true;
    if (!flag && word != "none") {
      tell(fmt::format("'{}' cannot be asked for; known are {}, and none", washed(word), everything));
      return false;
    }
  }
  return true;
}

// One line from the terminal; nothing at its end.
std::string ask(const std::string& what, const std::string& assumed) {
  write_stderr(fmt::format("{} [{}]: ", what, assumed.empty() ? "unknown" : assumed));
  std::string line;
  std::getline(std::cin, line);
  return line;
}

// @return nothing when an answer is unusable, which is told
std::optional<FirstLoom> wish_of(StartOptions options) {
  const bool asks = ::isatty(STDIN_FILENO) == 1 && ::isatty(STDERR_FILENO) == 1;
  FirstLoom wish;
  wish.name = options.name;
  wish.filament = options.lamps == "filament";
  if (options.chemistry.empty() && asks) options.chemistry = ask("chemistry: lfp, nmc, nca or lto", "lfp");
  wish.chemistry = options.chemistry.empty() ? "lfp" : options.chemistry;
  std::string assumed = options.chemistry.empty() ? "chemistry lfp" : "";
  for (std::size_t i = 0; i < questions().size(); ++i) {
    const Question& question = questions()[i];
    std::string& answer = options.answers[i];
    const bool was_given = !answer.empty();
    if (!was_given && asks) answer = ask(question.asks, question.assumed);
    if (answer.empty()) {
      answer = question.assumed;
      if (!asks && !answer.empty())
        assumed += fmt::format("{}{} {}", assumed.empty() ? "" : ", ", question.asks, answer);
    }
    if (answer.empty()) continue;
    const auto parsed = parse_magnitude(answer, question.dimension);
    if (!parsed) {
      tell(fmt::format("{}: {}", question.option, washed(parsed.error)));
      return std::nullopt;
    }
    question.put(wish, parsed.value->value);
  }
  if (options.with.empty() && asks) options.with = ask("with, a list of", std::string(everything));
  if (!equip(wish, options.with.empty() ? std::string(everything) : options.with)) return std::nullopt;
  if (const std::string trouble = trouble_with(wish); !trouble.empty()) {
    tell(washed(trouble));
    return std::nullopt;
  }
  if (!assumed.empty()) write_stderr(fmt::format("loomproof: taken, since nothing else was given: {}\n", assumed));
  return wish;
}

Exit start(const StartOptions& options) {
  if (!may_write(options.out, options.force)) return Exit::unusable;
  const auto wish = wish_of(options);
  if (!wish) return Exit::unusable;
  std::string text = first_loom(*wish);
  Exit code = Exit::holds;
  std::string said;
  if (!options.open) {
    SizeRequest request;
    request.text = text;
    request.slots = find_slots(text);
    request.read = [&](const std::string& t) { return read_loom(t, options.out).loom; };
    request.stock = usual_stock();
    const SizeResult result = size_loom(request);
    if (result.outcome != SizeResult::Outcome::found) {
      write_stdout(text_of(options.out, request, result));
      return Exit::broken;
    }
    text = result.text;
    said = fmt::format("{} sizes chosen from usual stock, {:.2f} kg of copper{}\n", result.values.size(), result.cost,
                       result.proved() ? ", the least that holds" : "");
    if (result.undecided > 0) {
      said +=
          fmt::format("{} obligations are undecided until the data marked # UNKNOWN are written\n", result.undecided);
      code = Exit::undecided;
    }
    for (const Obligation& owed : result.remaining) said += fmt::format("still broken: {}\n", washed(owed.what));
    if (!result.remaining.empty()) code = Exit::broken;
  } else {
    said = "sizes are left as `choose`: `loomproof size` finds them\n";
  }
  if (const std::optional<std::string> error = write_whole(options.out, text)) {
    tell(*error);
    return Exit::outside;
  }
  return write_stdout(fmt::format("{} written\n{}", washed(options.out), said)) ? code : Exit::outside;
}

}  // namespace

void add_start(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<StartOptions>();
  options->answers.resize(questions().size());
  CLI::App* command = app.add_subcommand(
      "start", "Write a first complete file from a few numbers; on a terminal it asks for those that are not given");
  command->add_option("-o,--out", options->out, "The new file")->required();
  command->add_option("--name", options->name, "Name of the vehicle")->capture_default_str();
  command->add_option("--chemistry", options->chemistry, "lfp, nmc, nca or lto; taken as lfp");
  for (std::size_t i = 0; i < questions().size(); ++i) {
    const Question& q = questions()[i];
    command->add_option(q.option, options->answers[i],
                        q.assumed.empty() ? q.asks + "; left open and marked when it is not given"
                                          : fmt::format("{}; taken as {}", q.asks, q.assumed));
  }
  command->add_option("--with", options->with, fmt::format("Which of {}; all when it is not given", everything));
  command->add_option("--lamps", options->lamps, "led or filament")
      ->check(CLI::IsMember({"led", "filament"}))
      ->capture_default_str();
  command->add_flag("--open", options->open, "Leave the sizes as `choose`");
  command->add_flag("--force", options->force, "Overwrite the file if it is there");
  command->callback([options, &code] { code = start(*options); });
}

}  // namespace loomproof
