// Any bytes at all through the whole rewrite, for either machine and for none: it is refused with a message
// and nothing is written, or what was written is read back as meant and can be rewritten again. The proof
// never has to step in.
#include "command/run.hpp"
#include "scratch_file.hpp"

#include <sstream>
#include <vector>

using namespace restep;
using fuzz::require;

namespace {

/// The exit status; every refusal must say something.
int rewrite(std::string const& program, std::string const& output, std::vector<std::string> const& options) {
  std::vector<std::string> arguments = {"rewrite", program, "-o", output};
  arguments.insert(arguments.end(), options.begin(), options.end());
  std::ostringstream out, err;
  int const status = command::run(arguments, out, err, false);
  require(status == 0 || status == 1);
  require(status == 0 || !err.str().empty());
  return status;
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  static fuzz::ScratchFolder const folder;
  // Loops without an end are common among such programs; following each for ten million blocks tests nothing.
  static std::string const dialect =
      folder.write("short-loops.toml", "base = \"rs274ngc\"\n[reading]\nmost_blocks = 5000\n");
  static std::vector<std::vector<std::string>> const runs = {
      {"--from", dialect},
      {"--from", dialect, "--machine", "bench-mill", "--finish", "cusp:5um"},
      {"--from", dialect, "--machine", "column-mill", "--tools", "workshop"}};
  std::string const program = folder.write("program.nc", data, size);
  std::string const output = folder.file("output.nc");
  for (auto const& options : runs) {
    std::filesystem::remove(output);
    int const status = rewrite(program, output, options);
    require(std::filesystem::exists(output) == (status == 0));
    if (status == 0 && options.size() == 2) require(rewrite(output, folder.file("again.nc"), options) == 0);
  }
  return 0;
}
