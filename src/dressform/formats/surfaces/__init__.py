"""How the surfaces of a glTF look: materials, their pictures, and how pictures lie on cloth."""
