"""Who can stand where: staffing, bottleneck, tolerance, single points of failure, stand-ins, headcount."""
