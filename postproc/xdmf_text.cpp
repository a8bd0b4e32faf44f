#include "postproc/xdmf_text.hpp"

#include <fmt/format.h>

#include "postproc/xml_text.hpp"

namespace torsowave::postproc {
namespace {

/// A raster. Everything is slowest index first, as in HDF5.
struct Mesh {
  std::size_t nz = 1;  ///< points
  std::size_t ny = 0;
  std::size_t nx = 0;
  double z = 0.0;  ///< of the first one [m]
  double y = 0.0;
  double x = 0.0;
  double step = 0.0;  ///< [m]
};

/// Viewers lay a two-dimensional mesh into the plane of y and z; one of three dimensions
/// lies where it belongs.
[[nodiscard]] std::string mesh_text(const Mesh& mesh)
{
  constexpr const char* three =
      R"(<DataItem Dimensions="3" NumberType="Float" Precision="8" Format="XML">)";
  return fmt::format(R"(<Topology TopologyType="3DCoRectMesh" Dimensions="{} {} {}"/>)"
                     "\n"
                     R"(<Geometry GeometryType="ORIGIN_DXDYDZ">)"
                     "\n{}{} {} {}</DataItem>\n{}{} {} {}</DataItem>\n</Geometry>\n",
                     mesh.nz, mesh.ny, mesh.nx, three, mesh.z, mesh.y, mesh.x, three,
                     mesh.step, mesh.step, mesh.step);
}

/// One layer of a data set (layer, y, x) of floats.
struct Layer {
  std::string_view path;  ///< file:/data set
  std::size_t index = 0;
  std::size_t count = 0;
  std::size_t ny = 0;
  std::size_t nx = 0;
};

[[nodiscard]] std::string layer_text(const Layer& layer)
{
  return fmt::format(
      R"(<DataItem ItemType="HyperSlab" Dimensions="1 {1} {2}" NumberType="Float" Precision="4">)"
      "\n"
      R"(<DataItem Dimensions="3 3" NumberType="Int" Format="XML">{3} 0 0 1 1 1 1 {1} {2}</DataItem>)"
      "\n"
      R"(<DataItem Dimensions="{0} {1} {2}" NumberType="Float" Precision="4" Format="HDF">{4}</DataItem>)"
      "\n</DataItem>\n",
      layer.count, layer.ny, layer.nx, layer.index, layer.path);
}

[[nodiscard]] std::string attribute_text(std::string_view name, std::string_view where,
                                         std::string_view item)
{
  return fmt::format(R"(<Attribute Name="{}" AttributeType="Scalar" Center="{}">)"
                     "\n{}</Attribute>\n",
                     xml_escaped(name), where, item);
}

/// The cells, one layer of cubes: their tissue, and SAR. Behind the plane z = 0, so that
/// the moments there are seen.
[[nodiscard]] std::string slice_text(const Result& result, std::string_view file)
{
  const GridInfo& grid = result.grid;
  const std::size_t ny = grid.y.size();
  const std::size_t nx = grid.x.size();
  const double half = 0.5 * grid.cell;
  std::string text = R"(<Grid Name="slice" GridType="Uniform">)";
  text += '\n' + mesh_text({2, ny + 1, nx + 1, -2.0 * grid.cell, grid.y.front() - half,
                            grid.x.front() - half, grid.cell});
  for (std::size_t t = 0; t < result.tissues.size(); ++t) {
    text += fmt::format("<Information Name=\"tissue {}\" Value=\"{}\"/>\n", t,
                        xml_escaped(result.tissues[t]));
  }
  text += attribute_text(
      "tissue", "Cell",
      fmt::format(
          R"(<DataItem Dimensions="1 {} {}" NumberType="UShort" Precision="2" Format="HDF">)"
          "{}:/tissue/label</DataItem>\n",
          ny, nx, file));
  const std::string path = fmt::format("{}:/sar", file);
  if (!result.sar.empty()) {
    text += fmt::format("<Information Name=\"caution\" Value=\"{}\"/>\n",
                        xml_escaped(caution));
  }
  for (std::size_t f = 0; f < result.frequencies.size() && !result.sar.empty(); ++f) {
    text +=
        attribute_text(fmt::format("SAR at {:.9g} MHz [(W/kg)/(W/m)]",
                                   result.frequencies[f].frequency / 1e6),
                       "Cell", layer_text({path, f, result.frequencies.size(), ny, nx}));
  }
  return text + "</Grid>\n";
}

/// How many of `count` cells every stride-th is.
[[nodiscard]] std::size_t kept(std::size_t count, int stride)
{
  const auto step = static_cast<std::size_t>(stride);
  return (count + step - 1) / step;
}

[[nodiscard]] std::string moments_text(const GridInfo& grid, const SnapshotPlan& plan,
                                       const std::vector<double>& times,
                                       std::string_view file)
{
  const Mesh mesh{.ny = kept(grid.y.size(), plan.stride),
                  .nx = kept(grid.x.size(), plan.stride),
                  .y = grid.y.front(),
                  .x = grid.x.front(),
                  .step = plan.stride * grid.cell};
  const std::string path = fmt::format("{}:/snapshots/{}", file, plan.field);
  const std::string name = fmt::format("{} [{}]", plan.field, plan.units);
  std::string text =
      "<Grid Name=\"moments\" GridType=\"Collection\" CollectionType=\"Temporal\">\n";
  for (std::size_t n = 0; n < times.size(); ++n) {
    text += fmt::format(
                "<Grid Name=\"moment {}\" GridType=\"Uniform\">\n<Time Value=\"{}\"/>\n",
                n, times[n]) +
            mesh_text(mesh) +
            attribute_text(name, "Node",
                           layer_text({path, n, times.size(), mesh.ny, mesh.nx})) +
            "</Grid>\n";
  }
  return text + "</Grid>\n";
}

}  // namespace

std::string xdmf_text(const Result& result, const SnapshotPlan& snapshots,
                      const std::vector<double>& times, std::string_view file)
{
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<Xdmf Version=\"2.0\">\n<Domain "
      "Name=\"{}\">\n{}{}</Domain>\n</Xdmf>\n",
      xml_escaped(result.title), slice_text(result, file),
      times.empty() ? "" : moments_text(result.grid, snapshots, times, file));
}

}  // namespace torsowave::postproc
