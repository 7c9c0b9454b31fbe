// `size`: finds the sizes that are left open (or, with --all, broken) and writes a new file with them.
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "main/sizing.h"
#include "main/time_limit.h"
#include "read/read_stock.h"
#include "read/slots.h"
#include "show/show.h"
#include "show/wash.h"
#include "size/size.h"
#include "units/parse.h"

namespace loomproof {
namespace {

struct SizeOptions {
  std::string file, out, stock;
  std::string by = "weight";
  bool all = false, force = false;
  std::string margin = "5 %";
  std::string length = "0 %", pack_resistance = "0 %";
  double ambient_k = 0;
};

// A share such as `5 %` or 0.05, at least 0 and below one half.
std::optional<double> share_of(const std::string& text, std::string_view option) {
  const auto parsed = parse_magnitude(text, Dimension::ratio);
  if (parsed && parsed.value->value >= 0 && parsed.value->value < 0.5) return parsed.value->value;
  tell(fmt::format("{} '{}' is no share between 0 % and 50 %", option, washed(text)));
  return std::nullopt;
}

std::optional<Stock> stock_of(const std::string& path) {
  if (path.empty()) return usual_stock();
  const FileText file = read_input(path);
  if (!file.text) {
    tell(file.error);
    return std::nullopt;
  }
  StockResult read = read_stock(*file.text);
  if (!read.stock) {
    write_stderr(text_of_faults(path, read.faults, read.lines, {.colour = wants_colour(STDERR_FILENO)}));
  }
  return std::move(read.stock);
}

bool has_prices(const Stock& stock) {
  return std::all_of(stock.cables.begin(), stock.cables.end(), [](const CableRow& row) {
    return std::all_of(row.sizes.begin(), row.sizes.end(), [](const StockValue& v) { return v.price.has_value(); });
  });
}

// Faults of the file other than the one that says that values are open.
bool reads_but_for_open(const FileText& file, const std::vector<Slot>& slots) {
  const ReadResult read = read_loom(*file.text, file.name);
  if (read.loom) return true;
  std::vector<ReadFault> faults = read.faults;
  const auto first = std::find_if(slots.begin(), slots.end(), [](const Slot& s) { return s.is_open(); });
  if (first != slots.end()) {
    std::erase_if(faults, [&](const ReadFault& f) {
      return f.at == first->at && f.what.find("left as 'choose'") != std::string::npos;
    });
  }
  if (faults.empty()) return true;
  write_stderr(text_of_faults(file.name, faults, read.lines, {.colour = wants_colour(STDERR_FILENO)}));
  return false;
}

Exit size_file(const SizeOptions& options) {
  const FileText file = read_input(options.file);
  if (!file.text) {
    tell(file.error);
    return Exit::unusable;
  }
  if (!options.out.empty() && !may_write(options.out, options.force)) return Exit::unusable;
  const auto margin = share_of(options.margin, "--margin");
  const auto length = share_of(options.length, "--length-tolerance");
  const auto pack = share_of(options.pack_resistance, "--pack-resistance-tolerance");
  if (!margin || !length || !pack) return Exit::unusable;
  const auto stock = stock_of(options.stock);
  if (!stock) return Exit::unusable;
  if (options.by == "price" && !has_prices(*stock)) {
    tell("the cheapest cannot be told: the stock list has no price for every size of cable (see --stock)");
    return Exit::unusable;
  }
  std::vector<Slot> slots = find_slots(*file.text);
  if (!reads_but_for_open(file, slots)) return Exit::unusable;
  SizeRequest request;
  request.text = *file.text;
  request.slots = std::move(slots);
  request.read = [&](const std::string& text) { return read_loom(text, file.name).loom; };
  request.stock = *stock;
  request.objective = options.by == "price" ? Objective::price : Objective::weight;
  request.all = options.all;
  request.margin = *margin;
  request.tolerance = {*length, *pack, options.ambient_k};
  const SizeResult result = size_loom(request);
  if (!write_stdout(text_of(file.name, request, result))) return Exit::outside;
  if (result.outcome == SizeResult::Outcome::conflict || result.outcome == SizeResult::Outcome::gave_up) {
    return Exit::broken;
  }
  const std::string& text = result.outcome == SizeResult::Outcome::nothing ? *file.text : result.text;
  if (!options.out.empty()) {
    if (const std::optional<std::string> error = write_whole(options.out, text)) {
      tell(*error);
      return Exit::outside;
    }
  }
  if (!result.remaining.empty()) return Exit::broken;
  return result.undecided > 0 ? Exit::undecided : Exit::holds;
}

}  // namespace

bool may_write(const std::string& path, bool force) {
  struct stat facts {};
  if (force || ::lstat(path.c_str(), &facts) != 0) return true;
  tell(fmt::format("'{}' is there already; --force overwrites it", washed(path)));
  return false;
}

void add_size(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<SizeOptions>();
  CLI::App* command = app.add_subcommand(
      "size", "Find the sizes that FILE leaves as `choose`, so that everything holds; write them into a new file");
  command->add_option("FILE", options->file, "A loom file; - is stdin")->required();
  command->add_option("-o,--out", options->out, "The new file; without it the difference is only printed");
  command->add_option("--stock", options->stock, "YAML list of what can be bought; without it the usual sizes");
  command->add_option("--by", options->by, "Lightest copper (weight) or cheapest (price, from the stock list)")
      ->check(CLI::IsMember({"weight", "price"}))
      ->capture_default_str();
  command->add_flag("--all", options->all, "Free every value that is broken as well");
  command->add_option("--margin", options->margin, "Share of every limit to leave over")->capture_default_str();
  command->add_option("--length-tolerance", options->length, "Wires may be longer or shorter by this share")
      ->capture_default_str();
  command
      ->add_option("--pack-resistance-tolerance", options->pack_resistance,
                   "The pack's resistance may be off by this share")
      ->capture_default_str();
  command->add_option("--ambient-tolerance", options->ambient_k, "The air may be hotter by this many kelvin")
      ->check(CLI::Range(0.0, 100.0))
      ->capture_default_str();
  command->add_flag("--force", options->force, "Overwrite the new file if it is there");
  add_time_limit(*command);
  command->callback([options, &code] { code = size_file(*options); });
}

}  // namespace loomproof
