"""Solar room: from irradiance and air to watts, per watt of panel."""
