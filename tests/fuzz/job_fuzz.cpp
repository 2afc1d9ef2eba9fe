// Any bytes at all as a job: options that can be loaded, or a refusal that says why.
#include "command/rewrite_options.hpp"
#include "scratch_file.hpp"

using namespace restep;
using fuzz::require;

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  static fuzz::ScratchFolder const folder;
  std::string const file = folder.write("job.toml", data, size);
  command::RewriteOptions options;
  auto const added = command::add_job(file, options);
  if (!added) {
    require(added.error().code == command::ExitCode::usage && !added.error().message.empty());
    return 0;
  }
  auto const setup = command::load_rewrite_setup(options);
  if (!setup) require(setup.error().code != command::ExitCode::done && !setup.error().message.empty());
  return 0;
}
